// The walk sheet and the run card as one file that any browser opens without the laptop. It enters no runs, and says so.
import {element} from "../dom.js";
import {text} from "../text.js";

function styles() {
  return [...document.styleSheets].flatMap((sheet) => [...sheet.cssRules]).map((rule) => rule.cssText).join("\n");
}

function escaped(words) {
  return words.replace(/&/g, "&amp;").replace(/</g, "&lt;").replace(/>/g, "&gt;");
}

/** The file's text: what `parts` show now, and what waits on this device. */
export function savedPage(title, parts, waiting) {
  const rows = waiting.map((entry) => `<li>${escaped(text("run.row", {name: entry.name, run: entry.run}))}: ${escaped(entry.time)}</li>`);
  const body = parts.map((part) => {
    const copy = part.cloneNode(true);
    for (const control of copy.querySelectorAll("select, label, [hidden]")) control.remove();
    for (const row of copy.querySelectorAll("button.feature")) row.replaceWith(element("p", {class: "feature"}, ...row.childNodes));
    for (const control of copy.querySelectorAll("button")) control.remove();
    return `<section>${new XMLSerializer().serializeToString(copy)}</section>`;
  });
  const waits = rows.length ? `<h2>${escaped(text("field.waited"))}</h2><ul>${rows.join("")}</ul>` : "";
  const saved = escaped(text("field.saved_at", {when: new Date().toLocaleString()}));
  return `<!doctype html><html lang="en" data-look="${document.documentElement.dataset.look}"><head><meta charset="utf-8">` +
    `<meta name="viewport" content="width=device-width,initial-scale=1"><title>${escaped(title)}</title><style>${styles()}</style></head>` +
    `<body><main><h1>${escaped(title)}</h1><p class="note">${saved}</p>${body.join("")}<section>${waits}<p>${escaped(text("field.saved_note"))}</p></section></main></body></html>`;
}

export function download(name, page) {
  const link = element("a", {href: URL.createObjectURL(new Blob([page], {type: "text/html"})), download: name});
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
