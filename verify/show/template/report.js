"use strict";
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const one = (id) => document.getElementById(id);
  const all = (selector, root = document) => [...root.querySelectorAll(selector)];
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  document.documentElement.classList.add("js");

  // On paper everything is open.
  addEventListener("beforeprint", () => {
    for (const details of all("details")) details.open = true;
  });

  // Pointing: a panel, line or finding in one view lights up in all.
  const live = one("pointed");
  const views = all("[data-view]");
  let lit = [];
  const choose = one("choose");
  function words(kind, number) {
    if (kind === "face") {
      const level = data.levels ? `, level ${data.levels[number] + 1} of ${data.top + 1} from below` : "";
      const side = data.folded ? (data.turned[number] ? ", back up when folded" : ", front up when folded") : "";
      return data.faceNames[number] + side + level;
    }
    if (kind === "edge") {
      const e = data.edges[number];
      return `${e[4]} ${data.edgeNames[number]}`;
    }
    const mark = data.marks[number];
    return mark.number ? `finding ${mark.number}: ${mark.words}` : `reason: ${mark.words}`;
  }
  function light(kind, number, say = true) {
    for (const element of lit) element.classList.remove("lit");
    lit = [];
    if (kind === null) return;
    const wanted = { face: [], edge: [], mark: [] };
    if (kind === "mark") {
      wanted.face = data.marks[number].faces;
      wanted.edge = data.marks[number].edges;
      wanted.mark = data.marks[number].number ? [data.marks[number].number] : [];
    } else wanted[kind] = [number];
    for (const view of views) {
      for (const which of ["face", "edge", "mark"]) {
        for (const n of wanted[which]) lit.push(...view.querySelectorAll(`[data-${which}="${n}"]`));
      }
    }
    for (const element of lit) element.classList.add("lit");
    if (say && live) live.textContent = words(kind, number);
  }
  for (const view of views) {
    const hits = all(".hit-face, .hit-edge", view);
    hits.forEach((hit, k) => {
      const kind = hit.dataset.face !== undefined ? "face" : "edge";
      const number = Number(hit.dataset[kind]);
      hit.setAttribute("role", "button");
      hit.setAttribute("tabindex", k === 0 ? "0" : "-1");
      hit.setAttribute("aria-label", words(kind, number));
      const show = () => light(kind, number);
      hit.addEventListener("pointerenter", show);
      hit.addEventListener("focus", show);
      hit.addEventListener("click", show);
    });
    view.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
      const far = { Home: 0, End: hits.length - 1 }[event.key];
      const here = hits.indexOf(document.activeElement);
      if (here < 0 || (step === undefined && far === undefined)) return;
      const next = hits[far !== undefined ? far : (here + step + hits.length) % hits.length];
      hits[here].setAttribute("tabindex", "-1");
      next.setAttribute("tabindex", "0");
      next.focus();
      event.preventDefault();
    });
  }
  if (choose) {
    const group = (label, entries) => {
      if (!entries.length) return;
      const g = document.createElement("optgroup");
      g.label = label;
      for (const [value, text] of entries) g.append(new Option(text, value));
      choose.append(g);
    };
    group("Findings", data.marks.map((m, n) => [`mark ${n}`, words("mark", n).slice(0, 90)]));
    group("Panels", data.faceNames.map((name, n) => [`face ${n}`, name]));
    group("Lines", data.edges.map((e, n) => [`edge ${n}`, words("edge", n), e[5]]).filter((x) => !x[2]));
    choose.addEventListener("change", () => {
      const [kind, number] = choose.value.split(" ");
      if (kind) light(kind, Number(number));
      else light(null);
    });
  }
  for (const button of all("[data-shows]")) {
    const number = Number(button.dataset.shows);
    button.addEventListener("focus", () => light("mark", number, false));
    button.addEventListener("pointerenter", () => light("mark", number, false));
    button.addEventListener("click", () => {
      light("mark", number);
      one("views").scrollIntoView({ behavior: still ? "auto" : "smooth" });
    });
  }

  // The layers, from the bottom up to a level.
  const layers = one("layers");
  if (layers) {
    const view = one("folded-view");
    const plates = all("[data-level]", view);
    const hits = all(".hit-face", view);
    const shown = one("layers-shown");
    const set = () => {
      const most = Number(layers.value);
      for (const plate of plates) plate.classList.toggle("away", Number(plate.dataset.level) >= most);
      for (const hit of hits) hit.classList.toggle("away", data.levels[Number(hit.dataset.face)] >= most);
      const text = most > data.top ? `all ${data.top + 1}` : `1 to ${most} of ${data.top + 1}`;
      shown.textContent = text;
      layers.setAttribute("aria-valuetext", text);
    };
    layers.addEventListener("input", set);
    set();
  }

  // Motion: from state to state. Panels keep their shapes; the way between two states is drawn for the eye.
  const stage = one("stage");
  if (!stage) return;
  const SVG = "http://www.w3.org/2000/svg";
  const make = (name, kind, parent) => {
    const element = document.createElementNS(SVG, name);
    element.setAttribute("class", kind);
    parent.append(element);
    return element;
  };
  const KINDS = ["target", "guide", "rim", "outline", "mountain", "valley", "mountain later", "valley later"];
  const layer = make("g", "", stage);
  const faces = data.faces.map(() => {
    const g = make("g", "", layer);
    const parts = { g, area: make("path", "front", g), hatch: make("path", "", g), lines: {} };
    for (const kind of KINDS) parts.lines[kind] = make("path", kind, g);
    return parts;
  });
  const foldLine = make("path", "", stage);
  const rims = data.faces.map(() => []);
  data.edges.forEach(([u, v, f, g], n) => {
    for (const [face, other] of [[f, g], [g, f]]) if (face >= 0) rims[face].push([u, v, other, n]);
  });
  const kindOf = data.edges.map((e) => ["mountain", "valley"].find((kind) => e[4].startsWith(kind)) || "");
  const area2 = (points) => points.reduce((sum, p, k) => {
    const q = points[(k + 1) % points.length];
    return sum + p[0] * q[1] - p[1] * q[0];
  }, 0);
  const unit = (a, b) => {
    const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
    return [(b[0] - a[0]) / long, (b[1] - a[1]) / long];
  };
  const path = (points) => `M${points.map((p) => `${p[0].toFixed(2)} ${(-p[1]).toFixed(2)}`).join("L")}`;

  const states = [];
  data.steps.forEach((step, k) => {
    const places = k ? states[k - 1].places.slice() : data.flat.slice();
    for (const [v, x, y] of step.moved) places[v] = [x, y];
    const xs = places.map((p) => p[0]), ys = places.map((p) => p[1]);
    const centre = [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
    states.push({ places, turned: step.turned, stack: step.stack, over: step.over, centre });
  });
  const isFolded = (state, n) => {
    const [, , f, g] = data.edges[n];
    return f >= 0 && g >= 0 && state.turned[f] !== state.turned[g];
  };
  // For each edge the first move that folds it.
  const foldedBy = data.edges.map((_, n) => states.findIndex((state) => isFolded(state, n)));

  // What is drawn of an edge, seen from a side of the paper, when state k is reached and move `next` is under way or
  // to come.
  function lineKind(n, k, next, back) {
    const [, , f, g] = data.edges[n];
    if (f < 0 || g < 0) return "outline";
    if (isFolded(states[k], n)) return "rim";
    if (kindOf[n] && foldedBy[n] > k) {
      const kind = back ? (kindOf[n] === "valley" ? "mountain" : "valley") : kindOf[n];
      return foldedBy[n] <= next ? kind : `${kind} later`;
    }
    return data.edges[n][6] && foldedBy[n] <= k ? "guide" : null;
  }
  // `place(f, v)` is where a corner is seen; `k` the state whose creases are folded; `stack` the order of painting.
  // `over`: for each panel those before it in the stack that yet lie over it; they are painted once more, on it alone.
  let again = [];
  function paintOver(f, upper) {
    const clip = make("clipPath", "", stage);
    clip.id = `over-${again.length}`;
    clip.append(faces[f].area.cloneNode());
    const copy = faces[upper].g.cloneNode(true);
    copy.setAttribute("clip-path", `url(#${clip.id})`);
    layer.append(copy);
    again.push(clip, copy);
  }
  function draw(place, stack, k, next, centre, over = {}) {
    for (const element of again) element.remove();
    again = [];
    for (const f of stack) {
      const { g, area, hatch, lines } = faces[f];
      const points = data.faces[f].map((v) => place(f, v));
      const d = `${path(points)}Z`;
      const back = area2(points) < 0;
      area.setAttribute("d", d);
      area.setAttribute("class", back ? "back" : "front");
      hatch.setAttribute("d", d);
      hatch.setAttribute("style", back ? "fill:url(#motion-hatch)" : "fill:none");
      const drawn = {};
      for (const [u, v, , n] of rims[f]) {
        const line = path([place(f, u), place(f, v)]);
        const kind = lineKind(n, k, next, back);
        if (kind) drawn[kind] = (drawn[kind] || "") + line;
        if (data.edges[n][7]) drawn.target = (drawn.target || "") + line;
      }
      for (const kind of KINDS) lines[kind].setAttribute("d", drawn[kind] || "");
      layer.append(g);
      for (const upper of over[f] || []) paintOver(f, upper);
    }
    layer.setAttribute("transform", `translate(${(-centre[0]).toFixed(2)} ${centre[1].toFixed(2)})`);
  }

  // Seen from above, and on the way a little from the side, so that what stands upright is seen.
  const tiltAt = (t) => 0.55 * Math.sin(Math.PI * t);
  function seen([x, y, z], centre, tilt) {
    const dy = y - centre[1];
    return [x, centre[1] + dy * Math.cos(tilt) + z * Math.sin(tilt), z * Math.cos(tilt) - dy * Math.sin(tilt)];
  }
  // Rigid motions of space as [rows, offset].
  const apply = ([m, o], p) => m.map((row, i) => row[0] * p[0] + row[1] * p[1] + row[2] * p[2] + o[i]);
  const after = (one_, two) => {
    const columns = [0, 1, 2].map((j) => apply([one_[0], [0, 0, 0]], two[0].map((row) => row[j])));
    return [[0, 1, 2].map((i) => columns.map((c) => c[i])), apply(one_, two[1])];
  };
  // By `angle` about the line through a and b of the flat sheet: what is left of it rises towards the viewer.
  function about(a, b, angle) {
    const [x, y] = unit(a, b), c = Math.cos(angle), s = Math.sin(angle);
    const m = [
      [x * x + (1 - x * x) * c, x * y * (1 - c), y * s],
      [x * y * (1 - c), y * y + (1 - y * y) * c, -x * s],
      [-y * s, x * s, c],
    ];
    const moved = apply([m, [0, 0, 0]], [a[0], a[1], 0]);
    return [m, [a[0] - moved[0], a[1] - moved[1], -moved[2]]];
  }
  // The motion that carries a flat panel to its place in a state.
  function pose(f, state) {
    const [u, v] = data.faces[f];
    const a = data.flat[u], b = data.flat[v], c = state.places[u], d = state.places[v];
    const turn = Math.atan2(d[1] - c[1], d[0] - c[0]);
    const flip = state.turned[f] ? -1 : 1;
    const back = -flip * Math.atan2(b[1] - a[1], b[0] - a[0]);
    const co = Math.cos(turn + back), si = Math.sin(turn + back);
    const m = [[co, -si * flip, 0], [si, co * flip, 0], [0, 0, flip]];
    const moved = apply([m, [0, 0, 0]], [a[0], a[1], 0]);
    return [m, [c[0] - moved[0], c[1] - moved[1], 0]];
  }
  // From which panel to which, and over which edge, when the edges of a move are hinges; it begins at a panel that
  // rests.
  const trees = [];
  function tree(k) {
    if (trees[k]) return trees[k];
    const [from, to] = [states[k - 1], states[k]];
    const changes = (n) => isFolded(from, n) !== isFolded(to, n);
    const way = (v) => Math.hypot(from.places[v][0] - to.places[v][0], from.places[v][1] - to.places[v][1]);
    const rests = (f) => data.faces[f].every((v) => way(v) < 0.02) && from.turned[f] === to.turned[f];
    const size = (f) => Math.abs(area2(data.faces[f].map((v) => data.flat[v]))) + (rests(f) ? 1e9 : 0);
    const root = data.faces.reduce((best, _, f) => (size(f) > size(best) ? f : best), 0);
    const order = [], met = new Set([root]);
    let now = [root], later = [];
    while (now.length || later.length) {
      if (!now.length) {
        const at = later.findIndex(([, f]) => !met.has(f));
        if (at < 0) break;
        const [entry] = later.splice(at, 1);
        later = later.filter(([, f]) => !met.has(f));
        order.push(entry);
        met.add(entry[1]);
        now = [entry[1]];
      }
      const f = now.shift();
      for (const [, , other, n] of rims[f]) {
        if (other < 0 || met.has(other)) continue;
        if (changes(n)) later.push([f, other, n]);
        else {
          order.push([f, other, n]);
          met.add(other);
          now.push(other);
        }
      }
    }
    return (trees[k] = { root, order });
  }
  function hinged(k, t) {
    const [from, to] = [states[k - 1], states[k]];
    const { root, order } = tree(k);
    const poses = [];
    poses[root] = pose(root, t < 0.5 ? from : to);
    for (const [f, g, n] of order) {
      const [u, v, left] = data.edges[n];
      const share = (isFolded(from, n) ? 1 - t : 0) + (isFolded(to, n) ? t : 0);
      const angle = Math.PI * share * (kindOf[n] === "mountain" ? -1 : 1) * (left === g ? 1 : -1);
      poses[g] = after(poses[f], about(data.flat[u], data.flat[v], angle));
    }
    return (f, v) => apply(poses[f], [data.flat[v][0], data.flat[v][1], 0]);
  }
  function turning(k, t) {
    const before = states[k - 1], step = data.steps[k];
    const c = Math.cos(Math.PI * t), s = Math.sin(Math.PI * t);
    if (step.move === "turn") {
      const middle = (before.places[0][0] + states[k].places[0][0]) / 2;
      return (f, v) => {
        const [x, y] = before.places[v];
        return [middle + (x - middle) * c, y, (x - middle) * s];
      };
    }
    const [a, b] = step.line;
    const [x, y] = unit(a, b), n = [-y, x];
    return (f, v) => {
      const p = before.places[v];
      if (before.turned[f] === states[k].turned[f]) return [p[0], p[1], 0];
      const h = (p[0] - a[0]) * n[0] + (p[1] - a[1]) * n[1];
      return [p[0] + n[0] * h * (c - 1), p[1] + n[1] * h * (c - 1), Math.abs(h) * s * (step.under ? -1 : 1)];
    };
  }
  function showFoldLine(k, t, centre) {
    const step = k ? data.steps[k] : {};
    foldLine.setAttribute("class", step.under ? "mountain" : "valley");
    if (!step.line || t >= 0.5) { foldLine.setAttribute("d", ""); return; }
    const [a, b] = step.line;
    const u = unit(a, b);
    // As far as it runs over the paper's box, and a little beyond.
    let [low, high] = [-Infinity, Infinity];
    for (const axis of [0, 1]) {
      if (Math.abs(u[axis]) < 1e-9) continue;
      const across = states[k - 1].places.map((p) => p[axis]);
      const ends = [Math.min(...across), Math.max(...across)];
      const reach = ends.map((end) => (end - a[axis]) / u[axis]).sort((p, q) => p - q);
      [low, high] = [Math.max(low, reach[0]), Math.min(high, reach[1])];
    }
    const ends = [low - 4, high + 4].map((s) => [a[0] + u[0] * s - centre[0], a[1] + u[1] * s - centre[1]]);
    foldLine.setAttribute("d", path(ends.map(([x, y]) => [x, y * Math.cos(tiltAt(t))])));
  }
  // Where the scissors go, when all is folded.
  function showCut(centre) {
    foldLine.setAttribute("class", "cut");
    foldLine.setAttribute("d", path(data.cut.map(([x, y]) => [x - centre[0], y - centre[1]])));
  }
  // The motion that leads to state k: t = 0 is state k - 1, t = 1 state k.
  function frame(k, t) {
    const to = states[k];
    showFoldLine(k, t, k ? states[k - 1].centre : [0, 0]);
    if (data.cut && k === states.length - 1 && t >= 1) showCut(to.centre);
    if (k === 0 || t >= 1) { draw((f, v) => to.places[v], to.stack, k, k + 1, to.centre, to.over); return; }
    const from = states[k - 1], step = data.steps[k];
    if (t <= 0) { draw((f, v) => from.places[v], from.stack, k - 1, k, from.centre, from.over); return; }
    const near = t < 0.5 ? from : to;
    const centre = from.centre.map((x, axis) => x + (to.centre[axis] - x) * t);
    if (step.move === "slide") {
      draw((f, v) => from.places[v].map((x, axis) => x + (to.places[v][axis] - x) * t), near.stack, k - 1, k, centre);
      return;
    }
    showFoldLine(k, t, centre);
    const space = step.move === "hinges" ? hinged(k, t) : turning(k, t);
    const place = (f, v) => seen(space(f, v), centre, tiltAt(t));
    let order = near.stack;
    if (step.move === "line") {
      const going = order.filter((f) => from.turned[f] !== to.turned[f]);
      const staying = order.filter((f) => from.turned[f] === to.turned[f]);
      order = step.under ? [...going, ...staying] : [...staying, ...going];
    } else if (step.move === "hinges") {
      const deep = order.map((f, rank) => {
        const corners = data.faces[f].map((v) => place(f, v)[2]);
        return [Math.round(corners.reduce((sum, z) => sum + z, 0) / corners.length), rank, f];
      });
      order = deep.sort((p, q) => p[0] - q[0] || p[1] - q[1]).map((entry) => entry[2]);
    }
    draw(place, order, k - 1, k, centre);
  }

  const slider = one("step");
  const said = one("step-words");
  const scrub = one("scrub");
  const scrubbed = one("scrubbed");
  const noun = stage.dataset.noun;
  let current = 0;
  function set(value) {
    scrub.value = value;
    frame(current, value / 100);
    const text = current === 0 ? "flat" : value >= 100 ? "done" : value <= 0 ? "before" : "in motion";
    scrubbed.textContent = text;
    scrub.setAttribute("aria-valuetext", text);
  }
  function run(k) {
    if (still) { set(100); return; }
    const start = performance.now();
    const tick = (now) => {
      if (current !== k) return;
      const t = Math.min(1, (now - start) / 1100);
      set(100 * t);
      if (t < 1) requestAnimationFrame(tick);
    };
    requestAnimationFrame(tick);
  }
  function showStep(k, moving) {
    const words = k === 0 ? "The sheet, flat." : `${noun} ${k} of ${states.length - 1}: ${data.steps[k].words}`;
    said.textContent = words;
    slider.setAttribute("aria-valuetext", words);
    scrub.disabled = k === 0;
    const forward = moving && k === current + 1;
    current = k;
    if (forward) run(k);
    else set(100);
  }
  slider.addEventListener("input", () => showStep(Number(slider.value), true));
  scrub.addEventListener("input", () => set(Number(scrub.value)));
  one("play").addEventListener("click", () => {
    const next = current + 1 < states.length ? current + 1 : 0;
    slider.value = next;
    showStep(next, true);
  });
  showStep(0, false);
})();
