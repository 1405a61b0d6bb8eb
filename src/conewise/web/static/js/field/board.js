// A part of a page that forms change: what they send is written down, and the part is shown anew from the laptop.

/** The address of what belongs to the event of the board. */
export function address(main, path) {
  return `/api/events/${main.querySelector("#board").dataset.event}/${path}`;
}

/** The board as the laptop has it now; what was open stays open. */
export async function shownAnew(main) {
  const open = new Set([...main.querySelectorAll("details[open][data-key]")].map((one) => one.dataset.key));
  const answer = await fetch(location.href, {headers: {Accept: "text/html"}});
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("#board");
  for (const one of fresh.querySelectorAll("details[data-key]")) one.open = open.has(one.dataset.key);
  main.querySelector("#board").replaceWith(document.importNode(fresh, true));
}
