// Without this file everything can still be read and signed while there is a connection.
"use strict";

// What is typed into the form of an act is kept on this device until it is entered: never a
// secret, never a file, and nothing of whoever used the device before.
(() => {
  const who = document.body.dataset.who;
  let store;
  try { store = window.localStorage; } catch { return; }
  if (!who || !store) return;
  const BEFORE = "kept:";
  const WHO = "kept-who";
  const LAST = "kept-last";

  const forget = () => {
    for (const name of Object.keys(store)) if (name.startsWith("kept")) store.removeItem(name);
    return "caches" in window ? caches.delete("pages") : Promise.resolve();
  };
  if (store.getItem(WHO) !== who) { forget(); store.setItem(WHO, who); }

  const write = (entry) => {
    try {
      store.setItem(BEFORE + entry.request, JSON.stringify(entry));
      return true;
    } catch { return false; }
  };
  const drop = (request) => store.removeItem(BEFORE + request);
  const all = () => Object.keys(store).filter((name) => name.startsWith(BEFORE)).map((name) => {
    try { return JSON.parse(store.getItem(name)); } catch { store.removeItem(name); return null; }
  }).filter(Boolean);
  const clock = (at) => new Date(at).toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });

  // One line above the content says how things stand.
  const line = document.createElement("div");
  line.className = "device";
  line.setAttribute("role", "status");
  line.hidden = true;
  document.querySelector("main").before(line);
  const told = new Map();
  const tell = (what, ...parts) => {
    if (parts.length) told.set(what, parts); else told.delete(what);
    line.replaceChildren(...[...told.values()].map((some) => {
      const p = document.createElement("p");
      p.append(...some);
      return p;
    }));
    line.hidden = told.size === 0;
  };
  const button = (word, does) => {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "quiet";
    made.textContent = word;
    made.addEventListener("click", does);
    return made;
  };

  // Whether there is a connection, and how old the page is.
  const connection = () => {
    const { old } = document.body.dataset;
    const parts = [];
    if (!navigator.onLine || old) parts.push("No connection. ");
    if (old) parts.push(`This page is as it was at ${clock(Number(old))}: read only what it says. `);
    if (parts.length) {
      parts.push("Nothing is signed now; what you type is kept on this device, without your secret.");
    }
    if (navigator.onLine && old) {
      const again = document.createElement("a");
      again.href = "";
      again.textContent = "Load it again";
      parts.push(" ", again);
    }
    tell("connection", ...parts);
  };
  addEventListener("online", connection);
  addEventListener("offline", connection);
  connection();

  // Forms of acts: each has an id that makes it count once.
  const forms = [...document.querySelectorAll("form.act")].filter((form) => form.elements._request);
  const here = location.pathname + location.search;
  const keeps = (field) => field.name && !["password", "file", "submit", "button"].includes(field.type)
    && !["_csrf", "_request", "_seen", "_more"].includes(field.name);
  const values = (form) => [...form.elements].filter(keeps)
    .filter((field) => !["checkbox", "radio"].includes(field.type) || field.checked)
    .map((field) => [field.name, field.value]);

  const entered = document.querySelector("[data-entered]");
  if (entered) { drop(store.getItem(LAST)); store.removeItem(LAST); }

  // Fills a form with what was kept, if it has all the fields.
  const put = (form, entry) => {
    const names = new Set([...form.elements].map((field) => field.name));
    if (entry.fields.some(([name]) => !names.has(name))) return false;
    const left = entry.fields.map((pair) => pair);
    const take = (name) => {
      const at = left.findIndex(([other]) => other === name);
      return at < 0 ? undefined : left.splice(at, 1)[0][1];
    };
    for (const field of [...form.elements].filter(keeps)) {
      if (["checkbox", "radio"].includes(field.type)) {
        field.checked = entry.fields.some(([name, value]) => name === field.name && value === field.value);
      } else {
        const value = take(field.name);
        if (value !== undefined) field.value = value;
      }
    }
    return true;
  };

  // What another tab has open is that tab's: each tab holds what it works on.
  const holds = "locks" in navigator;
  const hold = (request) => { if (holds) navigator.locks.request(BEFORE + request, () => new Promise(() => {})); };
  // A page that was left may hold its own for a moment, or for as long as the browser keeps it to
  // go back to: it lets go of what is asked for, another tab does not.
  const claim = (request) => new Promise((tells) => {
    if (!holds) { tells(true); return; }
    navigator.locks.request(BEFORE + request, { signal: AbortSignal.timeout(1500) }, () => {
      tells(true);
      return new Promise(() => {});
    }).catch(() => tells(false));
  });
  const claimed = async () => {
    for (const { request } of all().filter((entry) => entry.at === here)) {
      if (await claim(request)) return all().find((entry) => entry.request === request);
    }
    return null;
  };

  const begin = async (form) => {
    const request = () => form.elements._request.value;
    const title = document.querySelector("h1").textContent;
    const own = all().find((entry) => entry.request === request());
    const at = own ? own.at : here;
    let touched = false;
    form.addEventListener("input", (event) => { touched ||= event.target.type !== "password"; });
    if (own) {
      // It came back with what is wrong: nobody waits for it.
      write({ ...own, waits: false, fields: values(form), when: Date.now() });
    }
    hold(request());
    const save = (waits) => write({
      request: request(), seen: form.elements._seen?.value, at, title, waits,
      fields: values(form), when: Date.now(),
    });
    let soon = 0;
    form.addEventListener("input", (event) => {
      if (event.target.type === "password") return;
      clearTimeout(soon);
      soon = setTimeout(() => save(false), 300);
    });
    form.addEventListener("submit", (event) => {
      clearTimeout(soon);
      if (event.submitter && event.submitter.name === "_more") return;
      const kept = save(true);
      store.setItem(LAST, request());
      if (navigator.onLine) return;
      event.preventDefault();
      delete form.dataset.sent;
      tell("back");
      tell("sent", kept
        ? "There is no connection: this is kept on this device and not entered. Your secret is not kept. Once there is a connection, sign it then."
        : "There is no connection, and this device can't keep what you typed: leave this page open.");
    });
    // All else goes on meanwhile.
    const before = own ? null : await claimed();
    if (before && !touched) {
      const away = button("Throw it away", () => {
        drop(before.request);
        drop(request());
        location.reload();
      });
      if (put(form, before)) {
        if (before.waits) {
          // It may have arrived: with the same id it counts once.
          form.elements._request.value = before.request;
          if (form.elements._seen) form.elements._seen.value = before.seen;
        } else {
          drop(before.request);
          write({ ...before, request: request(), seen: form.elements._seen?.value });
        }
        tell("back", `What you typed at ${clock(before.when)} is back. Your secret was not kept: type it to sign. `, away);
      } else {
        const text = before.fields.filter(([name, value]) => value && !name.startsWith("_"))
          .map(([name, value]) => `${name}: ${value}`).join("; ");
        tell("back", `At ${clock(before.when)} you typed: ${text}. `, away);
      }
    }
    form.dataset.ready = "";
  };
  for (const form of forms) begin(form);

  // What was sent and never answered, or could not be sent.
  const waiting = () => {
    const shown = forms.map((form) => form.elements._request.value);
    return all().filter((entry) => entry.waits && !shown.includes(entry.request));
  };
  const parts = waiting().flatMap((entry) => {
    const link = document.createElement("a");
    link.href = entry.at;
    link.textContent = `${entry.title}, ${clock(entry.when)}`;
    const away = button("Throw it away", () => { drop(entry.request); location.reload(); });
    return [link, " ", away, " "];
  });
  if (parts.length) {
    tell("waiting", "Typed on this device and, as far as it knows, not entered; sign it when there is a connection: ", ...parts);
  }

  for (const form of document.querySelectorAll("form[action^='/sign-out']")) {
    form.addEventListener("submit", (event) => {
      const some = all().filter((entry) => entry.waits).length;
      const ask = "What you typed on this device and did not sign is thrown away when you sign out. Sign out?";
      if (some && !confirm(ask)) { event.preventDefault(); delete form.dataset.sent; return; }
      forget();
    });
  }

  if ("serviceWorker" in navigator && window.isSecureContext) {
    // A browser that trusts the certificate only by exception refuses; then nothing is kept.
    navigator.serviceWorker.register("/worker.js").catch(() => {});
  }
})();
