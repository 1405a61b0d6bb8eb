// A times file is sent; the page of its answer opens.
import {clearRefusals, Refusal, request, showRefusal} from "../request.js";

export function start() {
  const form = document.getElementById("file-form");
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    clearRefusals(form);
    const [file] = form.elements.file.files;
    try {
      const sent = await request(`/api/recordings?name=${encodeURIComponent(file.name)}`, {send: file});
      location.assign(`/prove?${new URLSearchParams({times: sent.sent, name: sent.name})}`);
    } catch (refusal) {
      if (!(refusal instanceof Refusal)) throw refusal;
      showRefusal(form, refusal);
    }
  });
}
