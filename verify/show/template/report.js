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

  // Motion: a pattern between flat and folded, or a recipe from step to step.
  const stage = one("stage");
  if (!stage) return;
  const SVG = "http://www.w3.org/2000/svg";
  const make = (name, kind, parent) => {
    const element = document.createElementNS(SVG, name);
    element.setAttribute("class", kind);
    parent.append(element);
    return element;
  };
  const layer = make("g", "", stage);
  const faces = data.faces.map(() => {
    const g = make("g", "", layer);
    return { g, area: make("path", "front", g), hatch: make("path", "", g), line: make("path", "rim", g), guide: make("path", "guide", g) };
  });
  const rims = data.faces.map(() => []);
  data.edges.forEach(([u, v, f, g], n) => {
    for (const [face, other] of [[f, g], [g, f]]) if (face >= 0) rims[face].push([u, v, other, n]);
  });
  const area2 = (points) => points.reduce((sum, p, k) => {
    const q = points[(k + 1) % points.length];
    return sum + p[0] * q[1] - p[1] * q[0];
  }, 0);
  const path = (points) => `M${points.map((p) => `${p[0].toFixed(2)} ${(-p[1]).toFixed(2)}`).join("L")}`;
  function draw(places, stack, turned, moving = null) {
    for (const f of stack) {
      const { g, area, hatch, line, guide } = faces[f];
      const points = data.faces[f].map((v) => places(f, v));
      const d = `${path(points)}Z`;
      const back = moving ? area2(points) < 0 : turned[f];
      area.setAttribute("d", d);
      area.setAttribute("class", back ? "back" : "front");
      hatch.setAttribute("d", d);
      hatch.setAttribute("style", back ? "fill:url(#motion-hatch)" : "fill:none");
      const lines = { rim: "", guide: "" };
      for (const [u, v, other, n] of rims[f]) {
        const fold = other < 0 || turned[f] !== turned[other] || (moving && moving(f) !== moving(other));
        if (fold) lines.rim += path([places(f, u), places(f, v)]);
        else if (data.edges[n][6]) lines.guide += path([places(f, u), places(f, v)]);
      }
      line.setAttribute("d", lines.rim);
      guide.setAttribute("d", lines.guide);
      layer.append(g);
    }
  }

  const scrub = one("scrub");
  const scrubbed = one("scrubbed");
  function animate(from, to, each, done) {
    if (still) { each(to); if (done) done(); return; }
    const start = performance.now();
    const run = (now) => {
      const t = Math.min(1, (now - start) / 900);
      each(from + (to - from) * t);
      if (t < 1) requestAnimationFrame(run);
      else if (done) done();
    };
    requestAnimationFrame(run);
  }

  if (!data.steps) {
    const stack = data.stack || data.faces.map((_, n) => n);
    const flags = data.faces.map((_, n) => data.turned[n]);
    const show = () => {
      const t = Number(scrub.value) / 100;
      const between = (f, v) => data.flat[v].map((x, axis) => x + (data.folded[v][axis] - x) * t);
      draw(between, stack, flags, () => false);
      const text = t === 0 ? "flat" : t === 1 ? "folded" : "in between";
      scrubbed.textContent = text;
      scrub.setAttribute("aria-valuetext", text);
    };
    scrub.addEventListener("input", show);
    one("play").addEventListener("click", () => {
      const from = Number(scrub.value);
      animate(from, from < 100 ? 100 : 0, (value) => { scrub.value = value; show(); });
    });
    show();
    return;
  }

  const states = [];
  data.steps.forEach((step, k) => {
    const places = k ? states[k - 1].places.slice() : data.flat.slice();
    for (const [v, x, y] of step.moved || []) places[v] = [x, y];
    states.push({ places, turned: step.turned || states[k - 1].turned, stack: step.stack || states[k - 1].stack });
  });
  const slider = one("step");
  const said = one("step-words");
  let current = 0;
  function frame(k, t) {
    // The motion that leads to state k: t = 0 is state k - 1, t = 1 state k.
    const after = states[k];
    if (t >= 1 || k === 0) { draw((f, v) => after.places[v], after.stack, after.turned); return; }
    const before = states[k - 1];
    const step = data.steps[k];
    const near = t < 0.5 ? before : after;
    if (step.kind === "turn") {
      const c = Math.cos(Math.PI * t);
      draw((f, v) => [before.places[v][0] * c, before.places[v][1]], near.stack, before.turned, () => false);
      return;
    }
    if (step.line) {
      const [a, b] = step.line;
      const long = Math.hypot(b[0] - a[0], b[1] - a[1]);
      const n = [-(b[1] - a[1]) / long, (b[0] - a[0]) / long];
      const moves = (f) => f >= 0 && before.turned[f] !== after.turned[f];
      const c = Math.cos(Math.PI * t);
      const lift = Math.sin(Math.PI * t) * (step.under ? -0.28 : 0.28);
      const place = (f, v) => {
        const p = before.places[v];
        if (!moves(f)) return p;
        const h = (p[0] - a[0]) * n[0] + (p[1] - a[1]) * n[1];
        return [p[0] + n[0] * h * (c - 1) + Math.abs(h) * lift * 0.6, p[1] + n[1] * h * (c - 1) + Math.abs(h) * lift];
      };
      const going = near.stack.filter(moves);
      const staying = near.stack.filter((f) => !moves(f));
      draw(place, step.under ? [...going, ...staying] : [...staying, ...going], before.turned, moves);
      return;
    }
    draw((f, v) => before.places[v].map((x, axis) => x + (after.places[v][axis] - x) * t), near.stack, before.turned, () => false);
  }
  function showStep(k, moving) {
    const said_ = k === 0 ? "The sheet, flat." : `Step ${k} of ${states.length - 1}: ${data.steps[k].words}.`;
    said.textContent = said_;
    slider.setAttribute("aria-valuetext", said_);
    scrub.disabled = k === 0;
    const forward = moving && k === current + 1;
    current = k;
    const set = (value) => { scrub.value = value; frame(k, value / 100); scrubbed.textContent = value >= 100 ? "done" : value <= 0 ? "before" : "in motion"; };
    if (forward) animate(0, 100, (value) => { if (current === k) set(value); });
    else set(100);
  }
  slider.addEventListener("input", () => showStep(Number(slider.value), true));
  scrub.addEventListener("input", () => {
    const value = Number(scrub.value);
    frame(current, value / 100);
    scrubbed.textContent = value >= 100 ? "done" : value <= 0 ? "before" : "in motion";
  });
  one("play").addEventListener("click", () => {
    const next = current + 1 < states.length ? current + 1 : 0;
    slider.value = next;
    showStep(next, true);
  });
  showStep(0, false);
})();
