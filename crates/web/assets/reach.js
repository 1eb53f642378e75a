// Progressive: without this file the graph leads to the steps, and the steps to each other.
"use strict";

// What comes before a step and what comes after it stand out; one goes through the stages.
(() => {
  const graph = document.querySelector(".graph svg");
  if (!graph) return;
  const steps = [...graph.querySelectorAll("[data-step]")];
  const joins = [...graph.querySelectorAll("[data-from]")];
  const details = [...document.querySelectorAll("[data-detail]")];
  const reach = (start, from, to) => {
    const found = new Set([start]);
    for (let grown = true; grown;) {
      grown = false;
      for (const join of joins) {
        if (found.has(join.dataset[from]) && !found.has(join.dataset[to])) {
          found.add(join.dataset[to]);
          grown = true;
        }
      }
    }
    return found;
  };
  const light = (at) => {
    const before = at === null ? new Set() : reach(at, "to", "from");
    const after = at === null ? new Set() : reach(at, "from", "to");
    graph.classList.toggle("lit", at !== null);
    for (const step of steps) {
      const own = step.dataset.step;
      step.classList.toggle("lit-at", own === at);
      step.classList.toggle("lit-before", own !== at && before.has(own));
      step.classList.toggle("lit-after", own !== at && after.has(own));
    }
    for (const join of joins) {
      const { from, to } = join.dataset;
      join.classList.toggle("lit-before", before.has(from) && before.has(to));
      join.classList.toggle("lit-after", after.has(from) && after.has(to));
    }
  };

  const bar = document.createElement("div");
  bar.className = "stages";
  const button = (words) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "quiet";
    made.textContent = words;
    bar.append(made);
    return made;
  };
  const back = button("Stage before"), on = button("Next stage");
  const said = document.createElement("p");
  said.setAttribute("role", "status");
  said.textContent = "Go through the stages, or choose a box.";
  bar.append(said);
  graph.closest("figure").before(bar);

  let at = -1;
  const show = (next, follow) => {
    at = Math.max(-1, Math.min(steps.length - 1, next));
    back.disabled = at < 0;
    on.disabled = at === steps.length - 1;
    for (const step of steps) {
      step.classList.toggle("done", Number(step.dataset.step) < at);
    }
    for (const detail of details) {
      const now = Number(detail.dataset.detail) === at;
      if (now) detail.setAttribute("aria-current", "step");
      else detail.removeAttribute("aria-current");
    }
    light(at < 0 ? null : String(at));
    if (at < 0) { said.textContent = "As it stands now."; return; }
    const detail = details.find((one) => Number(one.dataset.detail) === at);
    const head = detail.querySelector("h3").textContent.trim();
    const facts = [...detail.querySelectorAll("dl > div")];
    const support = facts.find((fact) => fact.firstElementChild.textContent.startsWith("on its"));
    said.textContent = `Stage ${at + 1} of ${steps.length}: ${head}` +
      (support ? `. On its supports then: ${support.lastElementChild.textContent.trim()}` : "");
    const box = steps.find((one) => Number(one.dataset.step) === at);
    if (follow) box.scrollIntoView({ block: "nearest", inline: "center" });
  };
  back.addEventListener("click", () => show(at - 1, true));
  on.addEventListener("click", () => show(at + 1, true));
  for (const step of steps) {
    const own = step.dataset.step;
    step.addEventListener("pointerenter", () => light(own));
    step.addEventListener("focus", () => light(own));
    step.addEventListener("pointerleave", () => light(at < 0 ? null : String(at)));
    step.addEventListener("click", () => show(Number(own), false));
  }
  show(-1, false);
  said.textContent = "Go through the stages, or choose a box.";
})();
