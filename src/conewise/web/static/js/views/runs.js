// The page on which runs are written down.
import {data} from "../dom.js";
import {startDesk} from "../field/run_desk.js";

export async function start(main) {
  const list = data("list");
  if (list) await startDesk(main, list);
}
