// Progressive: without this file the page looks again by itself while a search runs.
"use strict";

(() => {
  const section = document.querySelector("[data-search]");
  if (!section || !("EventSource" in window)) return;
  // The page without a script looks again by itself; this one need not.
  if (!location.search.includes("watch=live")) { location.replace("/season?watch=live"); return; }
  const place = section.querySelector("[data-progress]");
  const source = new EventSource("/season/progress");
  source.addEventListener("progress", (event) => {
    const next = new DOMParser().parseFromString(event.data, "text/html");
    place.replaceChildren(...next.body.childNodes);
  });
  source.addEventListener("over", (event) => {
    source.close();
    if (event.data.startsWith("/season")) location.assign(event.data);
  });
  addEventListener("pagehide", () => source.close());
})();
