"use strict";
// Adds to pages that are whole without it: arrow keys, the view from close, true size by a ruler.
(() => {
  const make = (tag, more, ...inside) => { const e = Object.assign(document.createElement(tag), more); e.append(...inside); return e; };
  const quiet = e => e.ctrlKey || e.metaKey || e.altKey || document.querySelector("dialog[open]");

  const wall = [...document.querySelectorAll(".wall a")];
  function walk(key) {
    const at = wall.indexOf(document.activeElement);
    if (at < 0) return 0;
    if (key === "ArrowRight") return Math.min(at + 1, wall.length - 1);
    if (key === "ArrowLeft") return Math.max(at - 1, 0);
    // Up and down: the nearest print of the next row.
    const box = wall.map(a => a.getBoundingClientRect()), here = box[at], middle = r => (r.left + r.right) / 2;
    const rows = box.map((r, i) => [i, r.bottom - here.bottom]).filter(([, d]) => key === "ArrowDown" ? d > 2 : d < -2);
    if (!rows.length) return at;
    const near = Math.min(...rows.map(([, d]) => Math.abs(d)));
    return rows.filter(([, d]) => Math.abs(d) < near + 2)
      .sort(([i], [j]) => Math.abs(middle(box[i]) - middle(here)) - Math.abs(middle(box[j]) - middle(here)))[0][0];
  }
  addEventListener("keydown", e => {
    if (quiet(e)) return;
    if (wall.length) {
      if (/^Arrow/.test(e.key)) { e.preventDefault(); wall[walk(e.key)].focus(); }
      return;
    }
    const rel = { ArrowLeft: "prev", ArrowRight: "next", Escape: "up" }[e.key];
    const link = rel && document.querySelector(`a[rel=${rel}]`);
    if (link) { e.preventDefault(); location.href = link.href; }
    if (e.key === "+") document.querySelector(".closer")?.click();
  });

  for (const figure of document.querySelectorAll("figure[data-base]")) {
    const [w, h] = figure.dataset.size.split(" ").map(Number), tools = make("p", { className: "tools" });
    const closer = make("button", { className: "closer", type: "button" }, "Look closer");
    const size = make("button", { type: "button" }, "True size");
    closer.addEventListener("click", () => close(figure, w, h));
    figure.querySelector("a").addEventListener("click", e => { if (!e.ctrlKey && !e.metaKey && !e.shiftKey) { e.preventDefault(); close(figure, w, h); } });
    trueSize(figure, size);
    tools.append(closer, size);
    figure.append(tools);
  }

  // The view from close: tiles of the size that the screen can show, over the whole picture in a small one.
  function close(figure, w, h) {
    const { base } = figure.dataset, tile = Number(figure.dataset.tile), levels = Number(figure.dataset.levels);
    const plane = make("div", { className: "plane", tabIndex: 0 });
    plane.setAttribute("role", "group");
    plane.setAttribute("aria-label", "The print from close: arrows move it, plus and minus come closer and go back");
    const button = (name, act) => { const b = make("button", { type: "button" }, name); b.addEventListener("click", act); return b; };
    const tools = make("p", { className: "tools" }, button("Closer", () => zoom(2)), button("Further", () => zoom(0.5)),
      button("Whole", whole), button("Close", () => view.close()));
    const view = make("dialog", { className: "close" }, plane, tools);
    view.setAttribute("aria-label", "The print from close");
    const shown = figure.querySelector("img");
    const under = make("img", { src: shown.currentSrc || shown.src, alt: shown.alt, draggable: false });
    plane.append(under);
    const tiles = new Map();
    let scale = 1, x = 0, y = 0;
    const fit = () => Math.min(plane.clientWidth / w, plane.clientHeight / h);
    function whole() { scale = fit(); x = (plane.clientWidth - w * scale) / 2; y = (plane.clientHeight - h * scale) / 2; draw(); }
    function zoom(by, cx = plane.clientWidth / 2, cy = plane.clientHeight / 2) {
      const next = Math.min(Math.max(scale * by, fit() / 2), Math.max(2 / devicePixelRatio, fit()));
      x = cx - (cx - x) * next / scale; y = cy - (cy - y) * next / scale; scale = next; draw();
    }
    function move(dx, dy) {
      const held = (v, length, room) => Math.min(Math.max(v, 80 - length), room - 80);
      x = held(x + dx, w * scale, plane.clientWidth); y = held(y + dy, h * scale, plane.clientHeight); draw();
    }
    function place(image, [left, top, width, height]) {
      const a = Math.floor(x + left * scale), b = Math.floor(y + top * scale);
      Object.assign(image.style, { left: `${a}px`, top: `${b}px`, width: `${Math.ceil(x + (left + width) * scale) - a}px`, height: `${Math.ceil(y + (top + height) * scale) - b}px` });
    }
    function draw() {
      place(under, [0, 0, w, h]);
      const level = Math.min(Math.max(Math.floor(Math.log2(1 / (scale * devicePixelRatio)) + 0.2), 0), levels - 1), s = 2 ** level, step = tile * s;
      const wanted = new Set();
      for (let ty = Math.max(0, Math.floor(-y / scale / step)); ty * step < Math.min(h, (plane.clientHeight - y) / scale); ty++) {
        for (let tx = Math.max(0, Math.floor(-x / scale / step)); tx * step < Math.min(w, (plane.clientWidth - x) / scale); tx++) {
          const at = [tx * step, ty * step, Math.min(step, w - tx * step), Math.min(step, h - ty * step)];
          const src = `${base}/${at.join(",")}/${Math.ceil(at[2] / s)},${Math.ceil(at[3] / s)}/0/default.jpg`;
          wanted.add(src);
          let image = tiles.get(src);
          if (!image) { image = make("img", { src, alt: "", draggable: false }); tiles.set(src, image); plane.append(image); }
          place(image, at);
        }
      }
      for (const [src, image] of tiles) if (!wanted.has(src)) { image.remove(); tiles.delete(src); }
    }
    const fingers = new Map();
    const spread = () => { const [a, b] = [...fingers.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
    plane.addEventListener("pointerdown", e => { fingers.set(e.pointerId, { x: e.clientX, y: e.clientY }); plane.setPointerCapture(e.pointerId); });
    plane.addEventListener("pointermove", e => {
      const from = fingers.get(e.pointerId);
      if (!from) return;
      const before = fingers.size > 1 && spread();
      fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
      if (before) zoom(spread() / before, e.clientX, e.clientY); else move(e.clientX - from.x, e.clientY - from.y);
    });
    for (const end of ["pointerup", "pointercancel"]) plane.addEventListener(end, e => fingers.delete(e.pointerId));
    plane.addEventListener("wheel", e => { e.preventDefault(); zoom(2 ** (-e.deltaY / 300), e.clientX, e.clientY); }, { passive: false });
    plane.addEventListener("dblclick", e => zoom(2, e.clientX, e.clientY));
    view.addEventListener("keydown", e => {
      const step = { ArrowLeft: [80, 0], ArrowRight: [-80, 0], ArrowUp: [0, 80], ArrowDown: [0, -80] }[e.key];
      if (step) { e.preventDefault(); move(...step); }
      else if (e.key === "+" || e.key === "=") zoom(1.5);
      else if (e.key === "-") zoom(1 / 1.5);
      else if (e.key === "0") whole();
    });
    const resized = () => whole();
    addEventListener("resize", resized);
    view.addEventListener("close", () => { removeEventListener("resize", resized); view.remove(); figure.querySelector(".closer").focus(); });
    document.body.append(view);
    view.showModal();
    plane.focus();
    whole();
  }

  // True size: how many points of this screen make a millimetre is measured once, with a ruler, and kept in this browser.
  function trueSize(figure, button) {
    const key = "fallside-points-per-mm", image = figure.querySelector("img"), [mm] = figure.dataset.mm.split(" ").map(Number);
    // The screen's own points: the page's may be enlarged.
    let kept = 0;
    const held = () => { try { return Number(localStorage.getItem(key)) || kept; } catch { return kept; } };
    const again = make("button", { type: "button", hidden: true }, "Measure again");
    function show(on) {
      figure.classList.toggle("true", on);
      image.style.width = on ? `${mm * held() / devicePixelRatio}px` : "";
      button.textContent = on ? "As large as the page" : "True size";
      again.hidden = !on;
    }
    function measure() {
      const length = 50, bar = make("div", { className: "bar" });
      const slide = make("input", { type: "range", id: "ruler", min: 100, max: 600, step: 0.5, value: (held() / devicePixelRatio || 3.78) * length });
      const set = () => { bar.style.width = `${slide.value}px`; };
      slide.addEventListener("input", set);
      set();
      const done = make("button", { type: "button" }, "It is 50 mm"), not = make("button", { type: "button" }, "Cancel");
      const dialog = make("dialog", {}, make("h2", { id: "ruler-title" }, "Measure this screen"),
        make("label", { htmlFor: "ruler" }, "Lay a ruler on the screen and move the slider until the bar is 50 mm long."), bar, slide,
        make("p", { className: "tools" }, done, not));
      dialog.setAttribute("aria-labelledby", "ruler-title");
      done.addEventListener("click", () => {
        kept = slide.value * devicePixelRatio / length;
        try { localStorage.setItem(key, kept); } catch { /* It is asked again next time. */ }
        dialog.close();
        show(true);
      });
      not.addEventListener("click", () => dialog.close());
      dialog.addEventListener("close", () => { dialog.remove(); button.focus(); });
      document.body.append(dialog);
      dialog.showModal();
    }
    button.addEventListener("click", () => { if (figure.classList.contains("true")) show(false); else if (held()) show(true); else measure(); });
    again.addEventListener("click", measure);
    addEventListener("resize", () => { if (figure.classList.contains("true")) show(true); });
    queueMicrotask(() => button.after(again));
  }
})();
