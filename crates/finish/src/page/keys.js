"use strict";
(() => {
  const all = [...document.querySelectorAll("article")];
  const box = document.querySelector(".find"), find = document.getElementById("find"), found = document.getElementById("found");
  const keys = document.getElementById("keys"), sheet = document.getElementById("sheet");
  const calm = matchMedia("(prefers-reduced-motion: reduce)").matches;
  const shown = () => all.filter(a => !a.hidden);
  let at = -1;
  box.hidden = false;
  document.querySelector(".keys").hidden = false;

  const words = new Map(all.map(a => [a, a.textContent.toLowerCase()]));
  function filter() {
    const want = find.value.trim().toLowerCase();
    // A verdict's own word shows that verdict, not every sentence that happens to hold it.
    const verdict = ["keep", "look", "reshoot", "used", "unusable"].includes(want) ? want : null;
    for (const a of all) a.hidden = verdict ? !a.classList.contains(verdict) : !words.get(a).includes(want);
    for (const s of document.querySelectorAll("section")) s.hidden = !s.querySelector("article:not([hidden])");
    found.textContent = want ? `${shown().length} of ${all.length}` : "";
    at = -1;
  }
  function walk(step) {
    const list = shown();
    if (!list.length) return;
    at = Math.max(0, Math.min(list.length - 1, at + step));
    list[at].focus({ preventScroll: true });
    list[at].scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
    if (sheet.open) open(list[at]);
  }
  function open(article) {
    const picture = article.querySelector(".mount img") || article.querySelector(".frame img");
    if (!picture) return;
    const big = sheet.querySelector("img");
    big.src = picture.src;
    big.alt = picture.alt;
    sheet.querySelector("p").textContent = article.querySelector("h3").textContent;
    if (!sheet.open) sheet.showModal();
  }
  find.addEventListener("input", filter);
  box.addEventListener("submit", e => { e.preventDefault(); walk(1); });
  keys.querySelector("button").addEventListener("click", () => keys.close());
  sheet.addEventListener("click", () => sheet.close());
  for (const a of all) {
    a.addEventListener("focus", () => { at = shown().indexOf(a); });
    const mount = a.querySelector(".mount img");
    if (mount) { mount.style.cursor = "zoom-in"; mount.addEventListener("click", () => open(a)); }
  }
  addEventListener("keydown", e => {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const typing = e.target === find;
    if (e.key === "Escape") {
      if (keys.open || sheet.open) return;
      find.value = "";
      filter();
      find.blur();
    } else if (typing || keys.open) {
      return;
    } else if (e.key === "ArrowDown" || e.key === "ArrowRight") {
      e.preventDefault();
      walk(1);
    } else if (e.key === "ArrowUp" || e.key === "ArrowLeft") {
      e.preventDefault();
      walk(-1);
    } else if (e.key === "/" && !sheet.open) {
      e.preventDefault();
      find.focus();
      find.select();
    } else if (e.key === "?" && !sheet.open) {
      keys.showModal();
    } else if (e.key === "Enter" && e.target.matches("article")) {
      open(e.target);
    }
  });
})();
