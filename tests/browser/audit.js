// Every visible piece of text of the page: its boxes, its type, its colours.
() => {
  const channel = (c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4);
  const parse = (text) => (text.match(/[\d.]+/g) ?? []).map(Number);
  const luminance = ([r, g, b]) => 0.2126 * channel(r / 255) + 0.7152 * channel(g / 255) + 0.0722 * channel(b / 255);
  const contrast = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)];
    return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
  };
  const once = (found) => { // many texts have the same elements above them
    const known = new Map();
    return (element) => {
      if (!known.has(element)) known.set(element, found(element));
      return known.get(element);
    };
  };
  const ground = once((element) => {
    if (!element) return [255, 255, 255];
    const colour = parse(getComputedStyle(element).backgroundColor);
    return colour.length === 3 || colour[3] > 0.99 ? colour : ground(element.parentElement);
  });
  for (const more of document.querySelectorAll("details")) more.open = true;
  const veiled = once((element) => {
    if (!element) return false;
    const style = getComputedStyle(element);
    return style.visibility === "hidden" || style.display === "none" || style.clipPath !== "none" || veiled(element.parentElement);
  });
  const hidden = (element) => !element.checkVisibility() || veiled(element);
  const clipping = once((element) => {
    if (!element || element === document.body) return [];
    if (getComputedStyle(element).overflowX === "visible") return clipping(element.parentElement);
    const frame = element.getBoundingClientRect();
    return [{left: frame.left, right: frame.right, top: frame.top + scrollY, bottom: frame.bottom + scrollY}, ...clipping(element.parentElement)];
  });
  const found = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const text = node.textContent.trim();
    const element = node.parentElement;
    if (!text || ["SCRIPT", "STYLE", "title"].includes(element.tagName) || hidden(element)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const svg = element.closest("svg");
    const boxes = (svg ? [element.getBoundingClientRect()] : [...range.getClientRects()])
      .filter((box) => box.width > 0.5 && box.height > 0.5)
      .map((box) => ({left: box.left, right: box.right, top: box.top + scrollY, bottom: box.bottom + scrollY}));
    if (!boxes.length) continue;
    const style = getComputedStyle(element);
    const box = svg && element.previousElementSibling?.classList.contains("box") ? element.previousElementSibling : null;
    const behind = svg ? (box ? parse(getComputedStyle(box).fill) : ground(svg)) : ground(element);
    const clips = svg ? [] : clipping(element);
    const frame = svg?.getBoundingClientRect();
    found.push({
      text,
      place: (element.className.baseVal ?? element.className) + " " + element.tagName,
      boxes,
      size: parseFloat(style.fontSize),
      family: style.fontFamily,
      contrast: contrast(parse(svg ? style.fill : style.color), behind),
      clips,
      sheet: svg ? {left: frame.left, right: frame.right, top: frame.top + scrollY, bottom: frame.bottom + scrollY} : null,
    });
  }
  const spaced = [...document.querySelectorAll("main section, main h2, main h3, main p, main dl, main table, main figure, main li, main td, main th, main dl > div")]
    .filter((element) => !hidden(element))
    .flatMap((element) => ["paddingTop", "paddingBottom", "marginTop", "marginBottom"].map((side) => ({place: element.tagName + "." + element.className, side, value: parseFloat(getComputedStyle(element)[side])})));
  return {found, spaced, scroll: document.documentElement.scrollWidth, width: innerWidth};
}
