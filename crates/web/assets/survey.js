// Progressive: without this file the zones of the drawing lead to the form with the zone filled
// in, and the place is not marked.
"use strict";

// A touch on the drawing marks the place and chooses the zone.
(() => {
  const figure = document.querySelector(".marking");
  const svg = figure && figure.querySelector("svg");
  const zone = document.getElementById("zone"), mark = document.getElementById("mark");
  if (!svg || !zone || !mark) return;
  const said = figure.querySelector("[data-marked]");
  const NS = "http://www.w3.org/2000/svg";
  const number = (name) => Number(svg.dataset[name]);
  let ring = null;

  const forget = document.createElement("button");
  forget.type = "button";
  forget.className = "quiet";
  forget.textContent = "Take the mark away";
  forget.hidden = true;
  said.after(forget);

  const draw = (x, y) => {
    if (!ring) {
      ring = document.createElementNS(NS, "g");
      ring.setAttribute("class", "rg-p rg-new");
      const circle = document.createElementNS(NS, "circle");
      circle.setAttribute("r", "11");
      const cross = document.createElementNS(NS, "path");
      cross.setAttribute("d", "M-18 0h36M0 -18v36");
      ring.append(circle, cross);
      svg.append(ring);
    }
    ring.setAttribute("transform", `translate(${x} ${y})`);
    forget.hidden = false;
  };
  const place = (x, y) => draw(x * number("by") + number("left"), y * number("by") + number("top"));
  const say = () => {
    const where = zone.selectedOptions[0] && zone.value ? `Zone ${zone.selectedOptions[0].textContent}` : "No zone";
    said.textContent = mark.value ? `${where}, marked on the drawing.` : `${where}, no mark.`;
  };
  const choose = (name) => {
    if (name && [...zone.options].some((option) => option.value === name)) {
      zone.value = name;
      zone.dispatchEvent(new Event("change"));
    }
  };
  svg.addEventListener("click", (event) => {
    const way = event.target.closest("a");
    if (!way || way.classList.contains("rg-p")) return;
    event.preventDefault();
    const region = event.target.closest("[data-region]");
    const named = region ? region.dataset.region
      : new URL(way.href.baseVal || way.href, location.href).searchParams.get("zone");
    choose(named);
    // By keyboard, or on a label beside the drawing, only the zone is chosen.
    if (region && event.detail > 0) {
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
      const unit = (value, from) => Math.round((value - number(from)) / number("by") * 100) / 100;
      mark.value = `${figure.dataset.view} ${unit(at.x, "left")} ${unit(at.y, "top")}`;
      draw(at.x, at.y);
    }
    say();
  });
  forget.addEventListener("click", () => {
    mark.value = "";
    if (ring) ring.remove();
    ring = null;
    forget.hidden = true;
    say();
  });
  const kept = mark.value.trim().split(/\s+/);
  if (kept.length === 3 && kept[0] === figure.dataset.view) place(Number(kept[1]), Number(kept[2]));

  // Items of the zone are offered first.
  const offered = document.getElementById("item-list");
  const where = document.getElementById("items-by-zone");
  if (offered && where) {
    const of = new Map([...where.options].map((option) => [option.value, option.textContent]));
    const order = () => {
      const mine = (option) => of.get(option.value) === zone.value ? 0 : 1;
      offered.append(...[...offered.options].sort((a, b) => mine(a) - mine(b)));
    };
    zone.addEventListener("change", order);
    order();
  }
  zone.addEventListener("change", say);
  if (zone.value || mark.value) say();
})();
