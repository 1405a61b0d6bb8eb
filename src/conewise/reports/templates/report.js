"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const last = data.s.length - 1;
  const traces = document.getElementById("traces");
  const maps = [...document.querySelectorAll("svg[data-matrix]")].map((svg) => ({svg, beside: data.beside ? dot(svg, "beside") : null, here: dot(svg, "here"), m: svg.dataset.matrix.split(" ").map(Number)}));
  const hairs = [...document.querySelectorAll(".hair")];
  const shown = new Map([...document.querySelectorAll("[data-show]")].map((place) => [place.dataset.show, place]));
  let at = 0;

  function dot(svg, name) {
    const circle = document.createElementNS("http://www.w3.org/2000/svg", "circle");
    circle.setAttribute("class", name);
    circle.setAttribute("visibility", "hidden");
    svg.append(circle);
    return circle;
  }

  function onSheet(m, index, run = data) {
    const [x, y] = [run.x[index], run.y[index]];
    return [m[0] * x + m[1] * y + m[2], m[3] * x + m[4] * y + m[5]];
  }

  function put(circle, [x, y], radius) {
    circle.setAttribute("r", radius);
    circle.setAttribute("cx", x);
    circle.setAttribute("cy", y);
    circle.setAttribute("visibility", "visible");
  }

  function featureAt(s) {
    return data.features.findLast((feature) => feature.from <= s + 1e-6) ?? data.features[0];
  }

  function say(name, text) {
    const place = shown.get(name);
    if (place) place.textContent = text;
  }

  function signed(value) {
    return (value < 0 ? "−" : "+") + Math.abs(value).toFixed(2);
  }

  function go(index) {
    at = Math.min(Math.max(index, 0), last);
    const s = data.s[at];
    for (const {svg, here, beside, m} of maps) {
      const sheet = svg.viewBox.baseVal.width;
      const pixel = sheet / (svg.getBoundingClientRect().width || sheet);
      put(here, onSheet(m, at), 7 * pixel);
      if (beside) put(beside, onSheet(m, at, data.beside), 6 * pixel);
    }
    for (const hair of hairs) {
      hair.hidden = false;
      hair.style.setProperty("--at", `${(100 * s) / data.s[last]}%`);
    }
    const distance = `${(s * data.length.factor).toFixed(0)} ${data.length.unit}`;
    const speed = `${data.v[at].toFixed(1)} ${data.speedUnit}`;
    const feature = featureAt(s)?.name ?? "";
    say("feature", feature);
    say("s", distance);
    say("t", `${data.t[at].toFixed(2)} s`);
    say("v", speed);
    if (data.gear) say("gear", String(data.gear[at]));
    if (data.ax) say("a", `${signed(data.ax[at])}, ${signed(data.ay[at])} g`);
    if (data.beside) say("beside", `${data.beside.v[at].toFixed(1)} ${data.speedUnit}`);
    if (data.later) say("later", `${signed(data.later[at])} s`);
    if (data.front) say("use", `${data.front[at]}, ${data.rear[at]} %`);
    traces.setAttribute("aria-valuenow", String(at));
    traces.setAttribute("aria-valuetext", `${distance}, ${speed}, ${feature}`);
  }

  function nearestStation(s) {
    let low = 0;
    let high = last;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (data.s[middle] <= s) low = middle; else high = middle;
    }
    return s - data.s[low] < data.s[high] - s ? low : high;
  }

  traces.addEventListener("pointermove", (event) => {
    const box = traces.querySelector(".plot").getBoundingClientRect();
    go(nearestStation(((event.clientX - box.left) / box.width) * data.s[last]));
  });
  traces.addEventListener("pointerdown", (event) => {
    const box = traces.querySelector(".plot").getBoundingClientRect();
    go(nearestStation(((event.clientX - box.left) / box.width) * data.s[last]));
  });

  traces.addEventListener("keydown", (event) => {
    const step = event.shiftKey ? 10 : 1;
    const s = data.s[at];
    const jumps = {
      ArrowRight: () => at + step,
      ArrowUp: () => at + step,
      ArrowLeft: () => at - step,
      ArrowDown: () => at - step,
      Home: () => 0,
      End: () => last,
      PageDown: () => nearestStation(data.features.find((f) => f.from > s + 0.5)?.from ?? data.s[last]),
      PageUp: () => nearestStation(data.features.findLast((f) => f.from < s - 0.5)?.from ?? 0),
    };
    if (!(event.key in jumps)) return;
    event.preventDefault();
    go(jumps[event.key]());
  });

  const coneText = document.getElementById("cone");
  function choose(cone) {
    for (const other of document.querySelectorAll(".cone.chosen")) other.classList.remove("chosen");
    cone.classList.add("chosen");
    coneText.textContent = cone.getAttribute("aria-label");
  }

  function nearest(items, x, y, reach) {
    let best = null;
    let smallest = reach;
    for (const item of items) {
      const away = Math.hypot(item.x - x, item.y - y);
      if (away < smallest) [best, smallest] = [item, away];
    }
    return best;
  }

  for (const {svg, m} of maps) {
    if (!svg.classList.contains("map")) continue;
    const line = data.s.map((_, index) => { const [x, y] = onSheet(m, index); return {x, y, index}; });
    const cones = [...svg.querySelectorAll(".cone")].map((cone) => ({x: Number(cone.dataset.x), y: Number(cone.dataset.y), cone}));
    const follow = (event) => {
      const box = svg.getBoundingClientRect();
      const scale = svg.viewBox.baseVal.width / box.width;
      const [x, y] = [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale + svg.viewBox.baseVal.y];
      const place = nearest(line, x, y, 40 * scale);
      if (place) go(place.index);
      const found = nearest(cones, x, y, 22 * scale);
      if (found) choose(found.cone);
    };
    svg.addEventListener("pointermove", follow);
    svg.addEventListener("pointerdown", follow);
    for (const {cone} of cones) cone.addEventListener("focus", () => choose(cone));
  }

  go(0);
})();
