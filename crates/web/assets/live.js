// Progressive: without this file everything can still be read and signed.
"use strict";

// Says that something changed, and reloads the parts of a page that may be reloaded.
(() => {
  const bar = document.querySelector("[data-after]");
  if (!bar || !("EventSource" in window)) return;
  const source = new EventSource("/changes?after=" + bar.dataset.after);
  const typing = () => {
    const at = document.activeElement;
    return at && at.closest("form") && !at.closest("header");
  };
  const refresh = async () => {
    const answer = await fetch(location.href, { headers: { "X-Live": "1" } });
    if (!answer.ok || answer.redirected) return false;
    const next = new DOMParser().parseFromString(await answer.text(), "text/html");
    let all = true;
    for (const part of document.querySelectorAll("[data-part]")) {
      const fresh = next.querySelector(`[data-part="${part.dataset.part}"]`);
      if (fresh) part.replaceWith(fresh); else all = false;
    }
    return all;
  };
  source.addEventListener("changed", async () => {
    const parts = document.querySelector("[data-part]");
    const done = parts && !typing() && await refresh().catch(() => false);
    bar.hidden = Boolean(done);
  });
  addEventListener("pagehide", () => source.close());
})();

// A form is sent once; the server would count it once anyway.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "1";
    setTimeout(() => { delete form.dataset.sent; }, 5000);
  });
}

// Typing `/` goes to the search box, as the page says.
addEventListener("keydown", (event) => {
  const at = document.activeElement;
  const writes = at && /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName);
  if (event.key === "/" && !writes && !event.ctrlKey && !event.metaKey && !event.altKey) {
    const box = document.getElementById("find");
    if (box) { event.preventDefault(); box.focus(); }
  }
});

// After an answer that names what is wrong, whoever uses a keyboard is taken there.
const wrong = document.querySelector("[data-wrong]");
if (wrong) wrong.focus();

// What was typed into a form outlives a refresh, and going away and back: browsers forget it,
// because our pages are not to be kept. It stays in this tab, without secrets, until it is sent.
(() => {
  const form = document.querySelector("form.act");
  if (!form) return;
  const key = "typed:" + location.pathname + location.search;
  const own = (field) => field.name && !field.name.startsWith("_")
    && !/^(hidden|password|submit|file)$/.test(field.type);
  const ticks = (field) => /^(checkbox|radio)$/.test(field.type);
  const fields = () => [...form.elements].filter(own);
  const [arrival] = performance.getEntriesByType("navigation");
  try {
    const typed = JSON.parse(sessionStorage.getItem(key) || "[]");
    if (arrival && /^(reload|back_forward)$/.test(arrival.type)) {
      fields().forEach((field, at) => {
        const [name, value] = typed[at] || [];
        if (name !== field.name) return;
        if (ticks(field)) field.checked = value; else field.value = value;
      });
    } else {
      sessionStorage.removeItem(key);
    }
    form.addEventListener("input", () => {
      const typed = fields().map((field) =>
        [field.name, ticks(field) ? field.checked : field.value]);
      sessionStorage.setItem(key, JSON.stringify(typed));
    });
    form.addEventListener("submit", () => sessionStorage.removeItem(key));
  } catch { /* A browser that keeps nothing forgets as it did. */ }
})();
