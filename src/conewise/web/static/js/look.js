// The look of the pages on this device: kept in a cookie, so that the server sends the next page in it.
const YEAR = 31536000;

export function wearLook() {
  for (const input of document.querySelectorAll(".looks input")) {
    input.addEventListener("change", () => {
      document.documentElement.dataset.look = input.value;
      document.cookie = `conewise-look=${input.value}; path=/; max-age=${YEAR}; samesite=strict`;
    });
  }
}
