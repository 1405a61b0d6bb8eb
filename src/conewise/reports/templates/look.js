"use strict";
(() => {
  // What is secondary is folded where the page is narrow, and open where there is room and on paper.
  const narrow = matchMedia("(max-width: 767px)");
  function fold() {
    for (const details of document.querySelectorAll("details.fold")) details.open = !narrow.matches;
  }
  narrow.addEventListener("change", fold);
  fold();

  const key = "conewise-look";
  const looks = [...document.querySelectorAll("input[name=look]")];
  function remember(value) {
    try { localStorage.setItem(key, value); } catch { /* a page from a file may have no storage: the look is not kept */ }
  }
  function remembered() {
    try { return localStorage.getItem(key); } catch { return null; }
  }
  function wear(value) {
    document.documentElement.dataset.look = value;
    for (const look of looks) look.checked = look.value === value;
  }
  for (const look of looks) look.addEventListener("change", () => { wear(look.value); remember(look.value); });
  const kept = remembered();
  if (looks.some((look) => look.value === kept)) wear(kept);
  else {
    const dark = matchMedia("(prefers-color-scheme: dark)");
    const show = () => { if (!document.documentElement.dataset.look) for (const look of looks) look.checked = look.value === (dark.matches ? "dark" : "light"); };
    dark.addEventListener("change", show);
    show();
  }
  document.body.dataset.ready = "yes";
})();
