// Progressive: without this file everything can still be read and signed.
"use strict";

// Says that something changed, and reloads the parts of a page that may be reloaded.
(() => {
  const bar = document.querySelector("[data-after]");
  if (!bar || !("EventSource" in window)) return;
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
    document.body.dataset.since = Date.now();
    return all;
  };
  let source;
  const listen = () => {
    source = new EventSource("/changes?after=" + bar.dataset.after);
    source.addEventListener("changed", async () => {
      const parts = document.querySelector("[data-part]");
      const done = parts && !typing() && await refresh().catch(() => false);
      bar.hidden = Boolean(done);
    });
  };
  listen();
  addEventListener("pagehide", () => source.close());
  // Somebody came back to the page as it was left.
  addEventListener("pageshow", (event) => { if (event.persisted) listen(); });
})();

// What holds for a while only says so when that is over, on a page that lay open for hours too,
// and on a copy that the device kept.
(() => {
  const { old } = document.body.dataset;
  const since = old ? Number(old) : Date.now();
  const look = () => {
    const age = (Date.now() - (document.body.dataset.since || since)) / 1000;
    for (const mark of document.querySelectorAll("[data-lasts]")) {
      if (age <= Number(mark.dataset.lasts)) continue;
      mark.textContent = mark.dataset.over;
      mark.classList.remove("good");
      mark.classList.add("unknown");
      delete mark.dataset.lasts;
    }
  };
  look();
  setInterval(look, 15000);
  for (const event of ["pageshow", "visibilitychange"]) addEventListener(event, look);
})();

// A form is sent once; the server would count it once anyway.
for (const form of document.querySelectorAll("form[method=post]")) {
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) { event.preventDefault(); return; }
    form.dataset.sent = "1";
    setTimeout(() => { delete form.dataset.sent; }, 5000);
  });
  // Who comes back to it may send it again: it is told that it was entered before.
  addEventListener("pageshow", () => { delete form.dataset.sent; });
}

// Whoever goes back to a form that the browser kept whole finds no secret in it: the phone may be
// in other hands by then.
addEventListener("pageshow", (event) => {
  if (!event.persisted) return;
  for (const field of document.querySelectorAll("input[type=password]")) field.value = "";
});

// Typing `/` goes to the search box, as the page says.
addEventListener("keydown", (event) => {
  const at = document.activeElement;
  const writes = at && /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName);
  if (event.key === "/" && !writes && !event.ctrlKey && !event.metaKey && !event.altKey) {
    const box = document.getElementById("find");
    if (box) { event.preventDefault(); box.focus(); }
  }
});

// The menu of ways closes by Escape, and when somebody goes elsewhere.
for (const menu of document.querySelectorAll("details.more")) {
  const summary = menu.querySelector("summary");
  menu.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && menu.open) { menu.open = false; summary.focus(); }
  });
  menu.addEventListener("focusout", (event) => {
    if (event.relatedTarget && !menu.contains(event.relatedTarget)) menu.open = false;
  });
  document.addEventListener("click", (event) => {
    if (!menu.contains(event.target)) menu.open = false;
  });
}

// On a phone the bar of ways is wider than the screen: where somebody is stands in sight.
const here = document.querySelector(".most [aria-current]");
if (here) here.parentElement.scrollLeft = here.offsetLeft - here.parentElement.offsetLeft - 24;

// After an answer that names what is wrong, whoever uses a keyboard is taken there.
const wrong = document.querySelector("[data-wrong]");
if (wrong) wrong.focus();
