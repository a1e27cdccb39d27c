"use strict";
(() => {
  const told = JSON.parse(document.getElementById("numbers").textContent);
  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0)).buffer;
  const floats = (text) => new Float32Array(bytes(text));
  const means = told.means.map(floats), pairs = told.pairs.map(floats), cells = told.cells;
  const grids = told.grids.map((grid) => ({ ...grid, place: new Int32Array(bytes(grid.place)) }));
  const bodies = told.bodies.map((body) => ({ ...body, corners: floats(body.corners) }));
  const inputs = [...document.querySelectorAll(".lamp input")];
  const readout = document.getElementById("readout");
  let pointed = null;

  const levels = () => inputs.map((input) => Number(input.value) / 100);
  // A mix of lamps is linear in the means and a quadratic form in the covariances.
  const mean = (parts, at, f) => parts.reduce((sum, part, k) => sum + f[k] * part[at], 0);
  const error = (parts, at, f) => {
    let sum = 0, pair = 0;
    for (let a = 0; a < f.length; a++) for (let b = a; b < f.length; b++) sum += (a === b ? 1 : 2) * f[a] * f[b] * parts[pair++][at];
    return Math.sqrt(Math.max(sum, 0));
  };
  const written = (value, half) => {
    const size = half > 0 ? half : Math.abs(value) * 0.01;
    const most = value ? Math.max(3, 3 - Math.floor(Math.log10(Math.abs(value)))) : 3;
    const places = size ? Math.max(0, Math.min(most, 6, 1 - Math.floor(Math.log10(size)))) : 2;
    return `${(value + 0).toFixed(places)} ± ${(half > 0 ? Math.max(half, 10 ** -places) : half).toFixed(places)}`;
  };

  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const minus = (a, b) => [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
  const unit = (a) => { const n = Math.hypot(...a); return a.map((x) => x / n); };

  // The window that the bundled script keeps has an empty renderer of its own before that of the model.
  const seen = () => window.global?.renderWindow;
  const renderer = () => seen()?.getRenderers().find((one) => one.getActors().length > 0);
  const camera = () => renderer()?.getActiveCamera();
  function ray(event, box) {
    const eye = camera().getPosition(), forward = unit(minus(camera().getFocalPoint(), eye));
    const right = unit(cross(forward, camera().getViewUp())), up = cross(right, forward);
    const half = Math.tan((camera().getViewAngle() * Math.PI) / 360);
    const x = (2 * (event.clientX - box.left)) / box.width - 1, y = 1 - (2 * (event.clientY - box.top)) / box.height;
    return { eye, along: [0, 1, 2].map((i) => forward[i] + half * (x * (box.width / box.height) * right[i] + y * up[i])) };
  }
  function onGrid({ eye, along }, grid) {
    const toward = dot(along, grid.normal), t = dot(minus(grid.origin, eye), grid.normal) / toward;
    if (!(t > 0)) return null;
    const at = minus([0, 1, 2].map((i) => eye[i] + t * along[i]), grid.origin);
    const u = dot(at, grid.u) / dot(grid.u, grid.u), v = dot(at, grid.v) / dot(grid.v, grid.v);
    if (u < 0 || u >= 1 || v < 0 || v >= 1) return null;
    const place = grid.place[Math.floor(u * grid.shape[0]) + grid.shape[0] * Math.floor(v * grid.shape[1])];
    if (place < 0) return null;
    if (toward > 0) return grid.wall ? null : { t, name: grid.name, words: "the side that is not read" };
    return { t, name: grid.name, place };
  }
  function onBody({ eye, along }, body) {
    let nearest = Infinity;
    const c = body.corners;
    for (let i = 0; i < c.length; i += 9) {
      const a = [c[i], c[i + 1], c[i + 2]];
      const e = minus([c[i + 3], c[i + 4], c[i + 5]], a), f = minus([c[i + 6], c[i + 7], c[i + 8]], a);
      const p = cross(along, f), det = dot(e, p);
      if (Math.abs(det) < 1e-14) continue;
      const s = minus(eye, a), u = dot(s, p) / det, q = cross(s, e), v = dot(along, q) / det, t = dot(f, q) / det;
      if (u >= 0 && v >= 0 && u + v <= 1 && t > 0 && t < nearest) nearest = t;
    }
    return nearest < Infinity ? { t: nearest, name: body.name, words: body.words } : null;
  }
  function hit(line) {
    const found = [...grids.map((g) => onGrid(line, g)), ...bodies.map((b) => onBody(line, b))].filter((one) => one);
    return found.reduce((best, one) => (best && best.t <= one.t ? best : one), null);
  }
  function tell() {
    if (!pointed) { readout.textContent = "Nothing that is read lies there."; return; }
    const where = `${pointed.name}, ` + pointed.at.map((x, i) => `${"xyz"[i]} ${(100 * x).toFixed(1)}`).join(", ") + " cm";
    readout.replaceChildren();
    const value = document.createElement("b"), f = levels();
    value.textContent = pointed.words ?? `${written(mean(means, pointed.place, f), told.t * error(pairs, pointed.place, f))} ${told.unit}`;
    const box = document.createElement("div");
    box.append(value);
    const place = document.createElement("div");
    place.textContent = where;
    readout.append(box, place);
  }
  const content = document.querySelector(".content");
  const keys = {
    ArrowLeft: ["azimuth", 10], ArrowRight: ["azimuth", -10], ArrowUp: ["elevation", 10], ArrowDown: ["elevation", -10],
    "+": ["dolly", 1.1], "-": ["dolly", 1 / 1.1],
  };
  content.addEventListener("keydown", (event) => {
    if (!(event.key in keys) || !camera()) return;
    const [turn, step] = keys[event.key];
    event.preventDefault();
    camera().setViewUp(0, 0, 1);
    camera()[turn](step);
    // Over the poles the model would stand on its head.
    if (Math.abs(camera().getDirectionOfProjection()[2]) > 0.99) camera()[turn](-step);
    renderer().resetCameraClippingRange();
    seen().render();
  });
  content.addEventListener("pointermove", (event) => {
    if (!camera()) return;
    const line = ray(event, event.currentTarget.getBoundingClientRect()), found = hit(line);
    pointed = found && { ...found, at: [0, 1, 2].map((i) => line.eye[i] + found.t * line.along[i]) };
    tell();
  });

  // Marks lie over the model: outlines of zones, the brightest places, names of sides.
  const svg = document.querySelector(".marks"), svgName = "http://www.w3.org/2000/svg";
  const add = (parent, tag, name) => {
    const one = document.createElementNS(svgName, tag);
    if (name) one.setAttribute("class", name);
    return parent.appendChild(one);
  };
  const below = add(svg, "g"), above = add(svg, "g");
  const drawn = told.marks.map((mark) => {
    const groups = [below, above].map((layer) => add(layer, "g", mark.kind));
    const lines = ["under", "over"].map((name) => add(groups[0], "polygon", name));
    const leader = ["under", "over"].map((name) => add(groups[0], "line", name));
    const dot = add(groups[1], "circle"), box = add(groups[1], "rect"), text = add(groups[1], "text");
    text.textContent = mark.text;
    dot.setAttribute("r", mark.kind === "bright" ? 5 : 0);
    return { ...mark, groups, lines, leader, dot, box, text };
  });
  function projected(point, eye, axes, width, height) {
    const at = minus(point, eye), depth = dot(at, axes.forward) * axes.half;
    if (!(depth > 0)) return null;
    return [width * (0.5 + (0.5 * dot(at, axes.right) * height) / (depth * width)), height * (0.5 - (0.5 * dot(at, axes.up)) / depth)];
  }
  const meets = (a, b) => a[0] < b[2] && b[0] < a[2] && a[1] < b[3] && b[1] < a[3];
  function mark() {
    const { width, height } = svg.getBoundingClientRect(), eye = camera().getPosition();
    const forward = unit(minus(camera().getFocalPoint(), eye)), right = unit(cross(forward, camera().getViewUp()));
    const axes = { forward, right, up: cross(right, forward), half: Math.tan((camera().getViewAngle() * Math.PI) / 360) };
    const taken = [];
    for (const one of drawn) {
      const corners = one.outline.map((point) => projected(point, eye, axes, width, height));
      const at = projected(one.at, eye, axes, width, height);
      const visible = at && corners.every((corner) => corner);
      one.groups.forEach((group) => { group.style.display = visible ? "" : "none"; });
      if (!visible) continue;
      one.dot.setAttribute("cx", at[0]);
      one.dot.setAttribute("cy", at[1]);
      one.lines.forEach((line) => line.setAttribute("points", corners.map((corner) => corner.join()).join(" ")));
      const size = one.text.getBBox(), w = size.width + 10, h = size.height + 4;
      const steps = one.kind === "side" ? [0] : [...Array(24).keys()].flatMap((k) => [-26 - k * 10, 12 + k * 10]);
      const tried = steps.map((step) => [at[0] - w / 2, at[1] + step, at[0] + w / 2, at[1] + step + h]);
      const inside = tried.filter((box) => box[1] > 0 && box[3] < height);
      const free = inside.find((box) => !taken.some((other) => meets(box, other))) ?? inside[0] ?? tried[0];
      const shift = Math.max(0, 4 - free[0]) - Math.max(0, free[2] - width + 4);
      taken.push([free[0] + shift, free[1], free[2] + shift, free[3]]);
      const x = free[0] + shift, y = free[1];
      Object.entries({ x, y, width: w, height: h }).forEach(([key, value]) => one.box.setAttribute(key, value));
      one.text.setAttribute("x", x + 5);
      one.text.setAttribute("y", y + h - 6);
      const end = one.kind === "side" ? at : [x + w / 2, y + h / 2];
      one.leader.forEach((line) => Object.entries({ x1: at[0], y1: at[1], x2: end[0], y2: end[1] })
        .forEach(([key, value]) => line.setAttribute(key, value)));
    }
  }
  let before = "";
  function follow() {
    if (camera()) {
      const box = svg.getBoundingClientRect();
      const now = [camera().getPosition(), camera().getViewUp(), camera().getFocalPoint(), box.width, box.height].join();
      if (!before) fit(box);
      if (now !== before) { before = now; mark(); }
    }
    requestAnimationFrame(follow);
  }
  // The camera was placed for a picture of a certain shape: a narrower page needs some more distance.
  function fit(box) {
    const eye = camera().getPosition(), focus = camera().getFocalPoint();
    const more = Math.max(1, told.aspect / (box.width / box.height));
    camera().setPosition(...[0, 1, 2].map((i) => focus[i] + more * (eye[i] - focus[i])));
    renderer().resetCameraClippingRange();
    seen().render();
  }
  requestAnimationFrame(follow);

  function map() {
    const actors = renderer()?.getActors() ?? [];
    return actors.map((actor) => actor.getMapper()?.getInputData?.())
      .find((data) => data?.getCellData?.().getScalars?.()?.getNumberOfTuples() === cells);
  }
  function recolour() {
    const data = map(), f = levels();
    if (!data) return;
    const scalars = data.getCellData().getScalars(), values = scalars.getData();
    for (let i = 0; i < cells; i++) values[i] = told.part === "error" ? error(pairs, i, f) : mean(means, i, f);
    scalars.setData(values);
    scalars.modified();
    data.modified();
    seen().render();
  }
  function retell() {
    const f = levels(), same = f.every((level, k) => level === told.levels[k]);
    inputs.forEach((input) => { input.nextElementSibling.textContent = `${input.value} %`; });
    told.zones.forEach((zone, row) => {
      const value = mean(zone.means, 0, f), half = told.t * error(zone.pairs, 0, f);
      document.getElementById(`zone-${row}`).textContent = written(value, half);
      const verdict = document.getElementById(`verdict-${row}`);
      if (same) { verdict.textContent = zone.verdict; return; }
      if (zone.low === null && zone.high === null) { verdict.textContent = "no bounds of the mean"; return; }
      const low = zone.low ?? -Infinity, high = zone.high ?? Infinity;
      const inside = value - half >= low && value + half <= high, outside = value + half < low || value - half > high;
      verdict.textContent = inside ? "+ mean inside" : outside ? "! mean outside" : "? mean too close to tell";
    });
    tell();
  }
  inputs.forEach((input) => input.addEventListener("input", () => { recolour(); retell(); }));
  retell();
  readout.textContent = "Point at a surface. Drag to turn, scroll to come nearer, drag with Shift to move; or press arrow keys, + and -.";
})();
