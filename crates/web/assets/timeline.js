// Progressive: without this file the chart is a still one, and its list says the same.
// One canvas is drawn anew for each frame in which something moved, and of the jobs only those
// that can be seen. So three thousand of them pan and zoom as smoothly as thirty.
"use strict";

(() => {
  const section = document.querySelector("[data-chart]");
  if (!section || !window.fetch || !document.createElement("canvas").getContext) return;
  const path = section.dataset.path, plan = section.dataset.plan, canTry = section.dataset.try === "yes";
  const still = section.querySelector(".still");
  const DAY = 1440, ROW = 18, BAR = 12, PAD = 4, HEAD = 40;
  const NAMES = () => view.names;
  const node = (tag, fields = {}, ...children) => {
    const made = Object.assign(document.createElement(tag), fields);
    made.append(...children);
    return made;
  };
  const view = { from: 0, long: DAY, set: 0, width: 0, height: 0, names: 170, chosen: -1, place: -1, drag: null };
  let data = null, lanes = [], total = 0, hits = [], labels = [], asked = false, paints = [], colours = {};

  // ---- Times and places -------------------------------------------------------------------
  const plot = () => view.width - NAMES();
  const x = (minute) => NAMES() + (minute - view.from) / view.long * plot();
  const minuteAt = (px) => view.from + (px - NAMES()) / plot() * view.long;
  const moment = (minute) => new Date(Date.UTC(...data.day, 0, minute));
  const day = { timeZone: "UTC", weekday: "short", day: "numeric", month: "short", year: "numeric" };
  const forms = [new Intl.DateTimeFormat("en-GB", day),
    new Intl.DateTimeFormat("en-GB", { ...day, hour: "2-digit", minute: "2-digit" })];
  const said = (minute, clock = true) => forms[Number(clock)].format(moment(minute));
  const iso = (minute) => moment(minute).toISOString();

  // Each lane's bars in as few rows as they need, once for each lane set.
  const laid = new Map();
  const lay = (set) => {
    if (laid.has(set)) return laid.get(set);
    const made = data.lanes[set][1].map(([name, bars]) => {
      const all = bars.map((bar) => typeof bar === "number"
        ? { job: bar, from: data.start[bar], long: data.long[bar] }
        : { job: bar[0], from: bar[1], long: bar[2] });
      all.sort((a, b) => a.from - b.from || b.long - a.long);
      const ends = [];
      for (const bar of all) {
        let row = ends.findIndex((end) => end <= bar.from);
        if (row < 0) row = ends.length;
        ends[row] = bar.from + Math.max(bar.long, 15);
        bar.row = row;
      }
      // By where anything of a bar begins, its place by the adopted plan too; and where the latest
      // so far ends. So those that can be seen are found without looking at the others.
      const shown = all.map((bar) => {
        const was = data.was[bar.job];
        return { bar, from: was ? Math.min(bar.from, was[0]) : bar.from,
          end: Math.max(bar.from + bar.long, was ? was[0] + was[1] : 0) };
      }).sort((a, b) => a.from - b.from);
      let latest = 0;
      for (const one of shown) one.latest = latest = Math.max(latest, one.end);
      return { name, bars: all, shown, rows: Math.max(1, ends.length) };
    });
    laid.set(set, made);
    return made;
  };
  // The first place in a list from which on something holds.
  const firstWhere = (list, holds) => {
    let low = 0, high = list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (holds(list[middle])) high = middle; else low = middle + 1;
    }
    return low;
  };
  const seenLanes = (top) => {
    const first = firstWhere(lanes, (lane) => lane.top + lane.height > top + HEAD);
    return lanes.slice(first, firstWhere(lanes, (lane) => lane.top > top + view.height));
  };
  const arrange = () => {
    lanes = lay(view.set);
    total = HEAD;
    for (const lane of lanes) {
      lane.top = total;
      lane.height = Math.max(26, lane.rows * ROW + 2 * PAD);
      total += lane.height;
    }
    spacer.style.height = Math.max(0, total - view.height) + "px";
  };

  // ---- What it is made of -----------------------------------------------------------------
  const canvas = node("canvas", { tabIndex: 0 });
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-roledescription", "time chart");
  const spacer = node("div"), scroll = node("div", { className: "tl-scroll" }, canvas, spacer);
  const words = node("output"), news = node("p", { className: "tl-news" }), live = node("p", { className: "unseen" });
  live.setAttribute("role", "status");
  const panel = node("section", { className: "why-job", hidden: true, tabIndex: -1 });
  panel.setAttribute("aria-label", "The chosen job");
  const tools = node("div", { className: "tl-tools" }), key = node("ul", { className: "tl-key" });
  key.setAttribute("aria-label", "What the fills mean");
  const help = node("p", { className: "why", id: "tl-help", textContent:
    "Drag or use the arrow keys to pan; + and −, Ctrl and the wheel, or two fingers to zoom; " +
    "N and P for the next job and the one before, Enter for why it is then, Home and End for both ends." +
    (canTry ? " Drag a job, or press M, to try it later." : "") });
  canvas.setAttribute("aria-describedby", "tl-help");
  const context = canvas.getContext("2d", { alpha: false });

  const button = (text, act, name) => {
    const made = node("button", { type: "button", textContent: text });
    if (name) made.setAttribute("aria-label", name);
    made.addEventListener("click", act);
    tools.append(made);
    return made;
  };
  const spans = [["Season", 0], ["Month", 31], ["Week", 7], ["Day", 1]];
  const zoomButtons = [];

  const limit = () => {
    const all = data.days * DAY;
    view.long = Math.min(Math.max(view.long, 240), all);
    view.from = Math.min(Math.max(view.from, 0), all - view.long);
  };
  const look = (from, long) => { view.from = from; view.long = long; limit(); ask(); };
  // Where nobody points, the chosen job stays where it is, or else the middle.
  const fixed = () => {
    const at = view.chosen < 0 ? -1 : x(data.start[view.chosen]);
    return at >= NAMES() && at <= view.width ? at : NAMES() + plot() / 2;
  };
  const zoom = (factor, at = fixed()) => {
    const held = minuteAt(at), all = data.days * DAY;
    const long = Math.min(Math.max(view.long * factor, 240), all);
    look(held - (at - NAMES()) / plot() * long, long);
  };

  // ---- Drawing ----------------------------------------------------------------------------
  const ask = () => { if (!asked) { asked = true; requestAnimationFrame(draw); } };
  const css = (name) => getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  const prepare = () => {
    for (const name of ["paper", "sheet", "ink", "soft", "rule", "month", "weekend", "closed", "edge", "gate", "done", "today", "faint", "act"]) {
      colours[name] = css(name) || "#888";
    }
    // The same hatchings as in the still chart: each kind's tile from its ground and its lines.
    paints = data.kinds.map((_, kind) => {
      const tile = node("canvas", { width: 6, height: 6 }), pen = tile.getContext("2d");
      pen.fillStyle = css(`k${kind}g`); pen.fillRect(0, 0, 6, 6);
      pen.strokeStyle = pen.fillStyle = css(`k${kind}h`); pen.lineWidth = 1.1;
      pen.beginPath();
      const line = (...p) => { pen.moveTo(p[0], p[1]); pen.lineTo(p[2], p[3]); };
      [() => { line(-1, 7, 7, -1); }, () => line(3, 0, 3, 6), () => pen.rect(1, 1, 1, 1),
        () => pen.arc(3, 3, 1.8, 0, 7), () => {}, () => { line(-1, 7, 7, -1); line(2, 7, 7, 2); },
        () => line(0, 3, 6, 3), () => pen.rect(3, 3, 1, 1), () => { line(3, 0, 3, 6); line(0, 3, 6, 3); },
        () => line(-1, -1, 7, 7), () => { line(1, 1, 5, 5); line(5, 1, 1, 5); }, () => {}][kind]?.();
      pen.stroke();
      return { fill: context.createPattern(tile, "repeat"), ground: css(`k${kind}g`), words: css(`k${kind}t`), tile };
    });
  };

  const bands = (top, bottom) => {
    const perDay = plot() / view.long * DAY;
    const first = Math.max(0, Math.floor(view.from / DAY)), last = Math.min(data.days, Math.ceil((view.from + view.long) / DAY));
    for (let day = first; day < last; day++) {
      const hours = data.hours[(data.weekday + day) % 7];
      if (!hours.length) {
        context.fillStyle = colours.weekend;
        context.fillRect(x(day * DAY), top, perDay + .5, bottom - top);
      } else if (perDay > 40) {
        context.fillStyle = colours.weekend;
        let from = 0;
        for (const [open, shut] of [...hours, [DAY, DAY]]) {
          if (open > from) context.fillRect(x(day * DAY + from), top, (open - from) / DAY * perDay, bottom - top);
          from = shut;
        }
      }
    }
    context.fillStyle = colours.closed;
    for (const [from, until] of data.closed) {
      const left = Math.max(x(from), NAMES()), right = Math.min(x(until), view.width);
      if (right > left) context.fillRect(left, top, right - left, bottom - top);
    }
  };
  const ticks = (bottom) => {
    const perDay = plot() / view.long * DAY;
    context.font = "12px sans-serif"; context.textBaseline = "middle";
    const first = Math.max(0, Math.floor(view.from / DAY)), last = Math.min(data.days, Math.ceil((view.from + view.long) / DAY));
    let free = [-1e9, -1e9];
    const mark = (minute, text, row, strong) => {
      const at = x(minute);
      context.fillStyle = strong ? colours.month : colours.rule;
      if (at >= NAMES()) context.fillRect(Math.round(at), row === 0 ? 0 : 20, 1, bottom);
      const left = Math.max(at, NAMES()) + 4;
      if (left < free[row]) return;
      context.fillStyle = row ? colours.soft : colours.ink;
      context.fillText(text, left, row ? 30 : 10);
      free[row] = left + context.measureText(text).width + 8;
    };
    const months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    const week = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
    for (let day = first; day < last; day++) {
      const date = moment(day * DAY), monday = (data.weekday + day) % 7 === 0;
      if (date.getUTCDate() === 1 || day === first) mark(day * DAY, months[date.getUTCMonth()] + " " + date.getUTCFullYear(), 0, true);
      if (perDay > 56) mark(day * DAY, week[(data.weekday + day) % 7] + " " + date.getUTCDate(), 1, monday);
      else if (monday && perDay > 1.6) mark(day * DAY, date.getUTCDate() + " " + months[date.getUTCMonth()], 1);
      if (perDay > 420) for (let hour = 3; hour < 24; hour += perDay > 1100 ? 1 : 3) mark(day * DAY + hour * 60, hour + ":00", 1);
    }
  };
  const upright = (minute, colour, width, dash, name, top, bottom) => {
    if (minute === null || minute < view.from || minute > view.from + view.long) return;
    const at = x(minute);
    context.strokeStyle = colour; context.lineWidth = width; context.setLineDash(dash);
    context.beginPath(); context.moveTo(at, top); context.lineTo(at, bottom); context.stroke();
    context.setLineDash([]);
    context.font = "bold 11px sans-serif";
    const wide = context.measureText(name).width + 6, left = Math.min(at + 3, view.width - wide);
    context.fillStyle = colours.paper; context.fillRect(left, bottom - 17, wide, 14);
    context.fillStyle = colour; context.textBaseline = "middle"; context.fillText(name, left + 3, bottom - 10);
  };

  const bar = (one, y, related) => {
    const job = one.job, flags = data.flags[job], paint = paints[data.kind[job]];
    let left = x(one.from), wide = Math.max(2.5, one.long / view.long * plot());
    if (data.was[job] && view.beside) {
      const [from, long] = data.was[job];
      const a = Math.max(NAMES(), x(from)), b = Math.min(view.width, x(from + long));
      context.fillStyle = colours.faint;
      if (b >= a) context.fillRect(a, y + BAR, Math.max(2, b - a), 3);
    }
    if (left + wide < view.names || left > view.width) return;
    if (left < view.names) { wide -= view.names - left; left = view.names; }
    wide = Math.min(wide, view.width - left + 4);
    context.globalAlpha = flags & 2 ? .5 : 1;
    if (wide < 5) { context.fillStyle = paint.ground; } else context.fillStyle = paint.fill;
    context.fillRect(left, y, wide, BAR);
    context.globalAlpha = 1;
    const on = job === view.chosen, found = view.found && view.found.has(job);
    context.strokeStyle = on || related.has(job) || found ? colours.today : flags & 1 ? colours.ink : colours.edge;
    context.lineWidth = on ? 3 : related.has(job) || found ? 2 : flags & 1 ? 1.8 : .8;
    if (wide > 3 || on || flags & 1) context.strokeRect(left, y, wide, BAR);
    if (flags & 1) { context.fillStyle = colours.ink; context.fillRect(left, y + BAR, wide, 3); }
    hits.push([left, y - 2, wide, BAR + 4, job, one]);
    if (wide > 26) labels.push([left, y, wide, job]);
  };
  // As much of a name as there is room for. Its letters are measured once, all of them.
  const label = ([left, y, wide, job]) => {
    const paint = paints[data.kind[job]];
    const text = data.label[job];
    const all = data.wide[job] ||= context.measureText(text).width;
    const room = wide - 8;
    const shown = all <= room ? text : text.slice(0, Math.max(1, Math.floor(text.length * room / all)));
    context.fillStyle = paint.ground;
    context.fillRect(left + 2, y + 1, Math.min(room, all) + 4, BAR - 2);
    context.fillStyle = paint.words;
    // Its first letters may be wider than the others.
    context.fillText(shown, left + 4, y + BAR / 2 + .5, room);
  };

  // A lane's name in as many lines as it has room for.
  const named = (lane) => {
    if (lane.lines && lane.wide === view.names) return lane.lines;
    const lines = [], room = view.names - 12, most = Math.max(1, Math.floor((lane.height - 8) / 15));
    for (const word of lane.name.split(" ")) {
      const longer = lines.length ? lines[lines.length - 1] + " " + word : word;
      if (lines.length && context.measureText(longer).width <= room) lines[lines.length - 1] = longer;
      else lines.push(word);
    }
    if (lines.length > most) {
      lines.length = most;
      lines[most - 1] += "…";
    }
    lane.wide = view.names;
    lane.lines = lines.map((line) => {
      while (line.length > 2 && context.measureText(line).width > room) line = line.slice(0, -2) + "…";
      return line;
    });
    return lane.lines;
  };

  const draw = () => {
    asked = false;
    const top = scroll.scrollTop, shift = HEAD - top;
    context.setTransform(view.ratio, 0, 0, view.ratio, 0, 0);
    context.fillStyle = colours.paper;
    context.fillRect(0, 0, view.width, view.height);
    bands(HEAD, view.height);
    context.save();
    context.beginPath(); context.rect(0, HEAD, view.width, view.height - HEAD); context.clip();
    hits = []; labels = [];
    const related = new Set(view.chosen < 0 ? [] : [...data.after[view.chosen], ...(data.before[view.chosen] || [])]);
    const end = view.from + view.long, seen = seenLanes(top);
    for (const lane of seen) {
      const y = lane.top - HEAD + shift;
      context.fillStyle = colours.rule; context.fillRect(0, y + lane.height - 1, view.width, 1);
      for (let at = firstWhere(lane.shown, (one) => one.latest >= view.from); at < lane.shown.length; at++) {
        const one = lane.shown[at];
        if (one.from > end) break;
        if (one.end >= view.from) bar(one.bar, y + PAD + one.bar.row * ROW + 2, related);
      }
    }
    context.font = "11px sans-serif"; context.textBaseline = "middle";
    labels.forEach(label);
    if (view.drag && view.drag.job >= 0) {
      const { job, minute, y } = view.drag;
      context.strokeStyle = colours.act; context.lineWidth = 2; context.setLineDash([4, 3]);
      context.strokeRect(x(minute), y, Math.max(4, data.long[job] / view.long * plot()), BAR);
      context.setLineDash([]);
    }
    upright(data.gate[1], colours.gate, 5, [], data.gate[0], HEAD, view.height);
    upright(data.complete, data.complete > data.gate[1] ? colours.gate : colours.done, 2, [7, 3], "complete", HEAD, view.height - 16);
    upright(data.today, colours.today, 2, [], "today", HEAD, view.height - 32);
    // Names of lanes stand over what is panned under them.
    context.font = "bold 12px sans-serif"; context.textBaseline = "top";
    for (const lane of seen) {
      const y = lane.top - HEAD + shift;
      context.fillStyle = colours.sheet; context.fillRect(0, y, NAMES() - 1, lane.height - 1);
      context.fillStyle = colours.ink;
      named(lane).forEach((line, at) => context.fillText(line, 6, Math.max(y, HEAD) + 6 + at * 15));
    }
    context.restore();
    context.fillStyle = colours.sheet; context.fillRect(0, 0, view.width, HEAD);
    context.save();
    context.beginPath(); context.rect(NAMES() - 1, 0, plot() + 1, HEAD); context.clip();
    ticks(HEAD);
    context.restore();
    context.fillStyle = colours.month;
    context.fillRect(0, HEAD - 1, view.width, 1);
    context.fillRect(NAMES() - 1, 0, 1, view.height);
    // What is shown is said in words once it stands still: that makes a page lay itself out anew.
    clearTimeout(telling);
    telling = setTimeout(tellWindow, 150);
  };
  let telling = 0;
  const tellWindow = () => {
    const days = view.long / DAY;
    if (!view.drag) words.textContent = said(view.from, days < 3) + " to " + said(view.from + view.long - 1, days < 3);
    for (const [made, span] of zoomButtons) {
      made.setAttribute("aria-pressed", String(Math.abs(days - (span || data.days)) < .5));
    }
  };

  const fit = () => {
    view.width = scroll.clientWidth; view.height = scroll.clientHeight;
    view.names = view.width < 520 ? 84 : 190;
    view.ratio = Math.min(2, window.devicePixelRatio || 1);
    canvas.width = view.width * view.ratio; canvas.height = view.height * view.ratio;
    canvas.style.width = view.width + "px"; canvas.style.height = view.height + "px";
    arrange(); ask();
  };

  // ---- One job ----------------------------------------------------------------------------
  const tell = (job) => {
    const flags = data.flags[job];
    return `${data.name[job]}, ${data.kinds[data.kind[job]][1]}, ${said(data.start[job])} to ${said(data.start[job] + data.long[job])}` +
      (flags & 1 ? ", sets the date" : "") + (flags & 2 ? ", done" : "") + `, ${data.key[job]}`;
  };
  // Bars in the order of the lanes: somebody's work stands in the lane of each who does it, so
  // that a job alone does not say where one is.
  const order = () => lanes.flatMap((lane) => lane.bars.map((one) => ({ lane, one })));
  const choose = (job, reveal = true, place = -1) => {
    view.chosen = job;
    view.place = place;
    if (job < 0) { ask(); return; }
    const all = order();
    if (place < 0) view.place = all.findIndex(({ one }) => one.job === job);
    const found = all[view.place];
    live.textContent = tell(job) + (found ? `, in ${found.lane.name}` : ", in no lane here");
    if (reveal && found) {
      const y = found.lane.top - HEAD + found.one.row * ROW;
      if (y < scroll.scrollTop || y > scroll.scrollTop + view.height - HEAD - 40) scroll.scrollTop = y - (view.height - HEAD) / 3;
      if (found.one.from < view.from || found.one.from > view.from + view.long * .9) view.from = found.one.from - view.long * .2;
      limit();
    }
    ask();
  };
  const why = async (job, focus) => {
    choose(job, true, view.chosen === job ? view.place : -1);
    const answer = await fetch(`/season/${plan}/job?job=${encodeURIComponent(data.key[job])}`).catch(() => null);
    if (!answer || !answer.ok || answer.redirected) {
      say(answer && answer.redirected ? "You are not signed in any more: load the page again." :
        "That can't be had now: try it again.");
      return;
    }
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    const old = section.querySelector("#job");
    if (old) old.remove();
    const close = node("button", { type: "button", className: "quiet", textContent: "Close" });
    close.addEventListener("click", () => { panel.hidden = true; choose(-1); canvas.focus(); });
    panel.replaceChildren(...page.body.childNodes, close);
    panel.hidden = false;
    if (focus) panel.focus();
    const field = document.getElementById("try-job");
    if (field) field.value = data.key[job];
  };
  section.addEventListener("click", (event) => {
    const link = event.target.closest("a[data-job]");
    if (!link || event.ctrlKey || event.metaKey) return;
    const job = data.key.indexOf(link.dataset.job);
    if (job < 0) return;
    event.preventDefault();
    why(job, true);
    scroll.scrollIntoView({ block: "nearest" });
  });

  const say = (words) => { live.textContent = news.textContent = words; };

  // ---- Trying -----------------------------------------------------------------------------
  const attempt = async (job, minute) => {
    if (data.flags[job] & 6) { say("It has begun, and can't be put off."); return; }
    if (minute <= data.start[job]) {
      say("A job is tried later; what keeps it from an earlier time is told under why.");
      why(job, false);
      return;
    }
    const form = document.getElementById("try");
    if (!form) return;
    form.elements.job.value = data.key[job];
    form.elements.from.value = iso(minute).slice(0, 10);
    form.elements.clock.value = iso(minute).slice(11, 16);
    say(`Trying ${data.name[job]} not before ${said(minute)}…`);
    const sent = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) }).catch(() => null);
    if (!sent || sent.status === 401) {
      // The form is filled in: sent from there, it is kept through signing in.
      say(sent ? "You are not signed in any more: “Try it” below keeps this while you sign in." :
        "There is no connection: what was to be tried stands below.");
      return;
    }
    const page = new DOMParser().parseFromString(await sent.text(), "text/html");
    const answer = page.querySelector("[data-answer]");
    const tries = document.getElementById("tries");
    if (sent.ok && answer && tries) {
      tries.querySelector(".none")?.remove();
      tries.querySelector("h2").after(answer);
      const complete = answer.querySelector(".figure");
      say(complete ? complete.textContent : "");
      answer.tabIndex = -1;
      answer.focus();
    } else {
      const wrong = page.querySelector("#try .wrong, .reasons");
      say(wrong ? wrong.textContent : "It could not be tried: load the page again.");
    }
  };

  // ---- Hands ------------------------------------------------------------------------------
  const hit = (px, py) => {
    for (let at = hits.length - 1; at >= 0; at--) {
      const [left, top, wide, high, job, one] = hits[at];
      if (px >= left - 2 && px <= left + wide + 2 && py >= top && py <= top + high) return { job, one, top: top + 2 };
    }
    return null;
  };
  const fingers = new Map();
  let last = null;
  canvas.addEventListener("pointerdown", (event) => {
    if (event.button > 0) return;
    fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
    canvas.setPointerCapture(event.pointerId);
    const found = event.offsetY > HEAD && event.offsetX > NAMES() ? hit(event.offsetX, event.offsetY) : null;
    last = { x: event.offsetX, y: event.offsetY, from: view.from, long: view.long, found, moved: false };
    if (fingers.size === 2) {
      const [a, b] = [...fingers.values()];
      last.pinch = { apart: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: (a[0] + b[0]) / 2 };
      view.drag = null;
    }
    scroll.classList.add("grabs");
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) {
      const over = hit(event.offsetX, event.offsetY);
      canvas.title = over ? tell(over.job) : "";
      return;
    }
    fingers.set(event.pointerId, [event.offsetX, event.offsetY]);
    if (last.pinch && fingers.size === 2) {
      const [a, b] = [...fingers.values()];
      const apart = Math.max(20, Math.hypot(a[0] - b[0], a[1] - b[1])), middle = (a[0] + b[0]) / 2;
      const long = last.long * last.pinch.apart / apart;
      const held = last.from + (last.pinch.middle - NAMES()) / plot() * last.long;
      look(held - (middle - NAMES()) / plot() * long, long);
      return;
    }
    const far = event.offsetX - last.x;
    if (!last.moved && Math.abs(far) < 5) return;
    last.moved = true;
    if (last.found && canTry && event.pointerType !== "touch") {
      const step = view.long > 10 * DAY ? DAY / 2 : 15;
      const minute = Math.round((data.start[last.found.job] + far / plot() * view.long) / step) * step;
      view.drag = { job: last.found.job, minute, y: last.found.top };
      news.textContent = `${data.name[last.found.job]}: not before ${said(minute)}`;
      ask();
    } else {
      look(last.from - far / plot() * last.long, view.long);
    }
  });
  const leave = (event) => {
    if (!fingers.delete(event.pointerId)) return;
    if (!fingers.size) scroll.classList.remove("grabs");
    const drag = view.drag;
    view.drag = null;
    if (event.type === "pointercancel" || last.pinch) { ask(); return; }
    if (drag) { ask(); attempt(drag.job, drag.minute); return; }
    if (!last.moved) {
      if (last.found) why(last.found.job, false); else choose(-1);
    }
  };
  canvas.addEventListener("pointerup", leave);
  canvas.addEventListener("pointercancel", leave);
  canvas.addEventListener("wheel", (event) => {
    if (event.ctrlKey || event.metaKey) {
      event.preventDefault();
      zoom(Math.exp(event.deltaY * .004), event.offsetX);
    } else if (event.shiftKey || Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
      event.preventDefault();
      look(view.from + (event.deltaX || event.deltaY) / plot() * view.long, view.long);
    }
  }, { passive: false });
  scroll.addEventListener("scroll", ask, { passive: true });

  const step = (by) => {
    const all = order(), at = view.place;
    if (!all.length) return;
    const next = at < 0 ? (by > 0 ? 0 : all.length - 1) : (at + by + all.length) % all.length;
    choose(all[next].one.job, true, next);
  };
  canvas.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const fifth = view.long / 5;
    const act = {
      ArrowLeft: () => look(view.from - fifth, view.long), ArrowRight: () => look(view.from + fifth, view.long),
      ArrowUp: () => { scroll.scrollTop -= 60; }, ArrowDown: () => { scroll.scrollTop += 60; },
      PageUp: () => { scroll.scrollTop -= view.height - HEAD; }, PageDown: () => { scroll.scrollTop += view.height - HEAD; },
      "+": () => zoom(.7), "=": () => zoom(.7), "-": () => zoom(1.4),
      Home: () => look(0, view.long), End: () => look(1e9, view.long),
      n: () => step(1), p: () => step(-1), N: () => step(1), P: () => step(-1),
      Enter: () => view.chosen >= 0 && why(view.chosen, true),
      Escape: () => { panel.hidden = true; choose(-1); },
      m: () => {
        const field = document.getElementById("try-job");
        if (!canTry || !field || view.chosen < 0) return;
        field.value = data.key[view.chosen];
        document.getElementById("try-from").focus();
      },
    }[event.key];
    if (act) { event.preventDefault(); act(); }
  });

  const box = document.getElementById("find-in-chart");
  const find = (jump) => {
    const wanted = box.value.toLowerCase().split(/\s+/).filter(Boolean);
    if (!wanted.length) { view.found = null; ask(); return; }
    const all = [];
    data.text.forEach((text, job) => { if (wanted.every((word) => text.includes(word))) all.push(job); });
    view.found = new Set(all);
    say(all.length === 1 ? "1 job found" : `${all.length} jobs found`);
    if (jump && all.length) {
      const at = all.indexOf(view.chosen);
      choose(all[(at + 1) % all.length]);
    }
    ask();
  };
  const set = (word) => {
    const at = data.lanes.findIndex(([name]) => name.toLowerCase().endsWith(word));
    if (at >= 0) {
      view.set = at; scroll.scrollTop = 0; arrange();
      if (view.chosen >= 0) choose(view.chosen); else ask();
    }
  };

  // ---- Beginning --------------------------------------------------------------------------
  const begin = (found) => {
    data = found;
    const first = new Date(data.from + "T00:00:00Z");
    data.day = [first.getUTCFullYear(), first.getUTCMonth(), first.getUTCDate()];
    data.weekday = (first.getUTCDay() + 6) % 7;
    data.before = [];
    data.after.forEach((all, job) => all.forEach((other) => { (data.before[other] ||= []).push(job); }));
    // What a search finds: a job's own words, and the lanes in which it stands.
    data.wide = [];
    data.label = data.name.map((name, job) => (data.flags[job] & 2 ? "✓" : "") + (data.flags[job] & 1 ? "◆" : "") +
      data.kinds[data.kind[job]][0] + " " + name);
    data.text = data.key.map((name, job) => (name + " " + data.name[job]).toLowerCase());
    for (const [, all] of data.lanes) for (const [name, bars] of all) for (const one of bars) {
      data.text[typeof one === "number" ? one : one[0]] += " " + name.toLowerCase();
    }
    canvas.setAttribute("aria-label", `Time chart of ${data.key.length} jobs; the list below says the same`);
    view.beside = Boolean(data.of);
    button("−", () => zoom(1.4), "Zoom out"); button("+", () => zoom(.7), "Zoom in");
    button("‹", () => look(view.from - view.long * .6, view.long), "Earlier");
    button("›", () => look(view.from + view.long * .6, view.long), "Later");
    for (const [name, span] of spans) {
      const middle = () => view.chosen >= 0 ? data.start[view.chosen] : view.from + view.long / 2;
      zoomButtons.push([button(name, () => span ? look(middle() - span * DAY / 2, span * DAY) : look(0, data.days * DAY)), span]);
    }
    if (data.today !== null) button("Today", () => look(data.today - view.long / 3, view.long));
    if (data.of) {
      const shown = button("Show " + data.of, () => {
        view.beside = !view.beside; shown.setAttribute("aria-pressed", String(view.beside)); ask();
      });
      shown.setAttribute("aria-pressed", "true");
    }
    tools.append(words);
    prepare();
    data.kinds.forEach(([mark, word], kind) => {
      const swatch = node("canvas", { width: 24, height: 13 }), pen = swatch.getContext("2d");
      pen.fillStyle = pen.createPattern(paints[kind].tile, "repeat"); pen.fillRect(0, 0, 24, 13);
      pen.strokeStyle = colours.edge; pen.strokeRect(.5, .5, 23, 12);
      key.append(node("li", {}, swatch, mark + " " + word));
    });
    key.append(node("li", { textContent: "◆ thick edge: sets the date" }), node("li", { textContent: "✓ pale: done" }));
    if (data.of) key.append(node("li", { textContent: "thin line below: " + data.of }));
    const from = document.getElementById("chart-from"), until = document.getElementById("chart-until");
    const minute = (day) => (Date.parse(day + "T00:00:00Z") - first) / 60000;
    const frame = node("div", { className: "tl" }, tools, scroll, news, live, panel, key, help);
    still.before(frame);
    still.hidden = true;
    section.querySelectorAll("[data-still]").forEach((other) => { other.hidden = true; });
    fit();
    look(minute(from.value) || 0, (minute(until.value) || 0) - (minute(from.value) || 0) + DAY);
    const lanesBox = document.getElementById("lanes");
    set(lanesBox.value);
    lanesBox.addEventListener("change", () => set(lanesBox.value));
    box.form.addEventListener("submit", (event) => {
      event.preventDefault();
      if (document.activeElement === box || box.value) find(true);
      if (from.value && until.value) {
        const [a, b] = [minute(from.value), minute(until.value) + DAY];
        if (document.activeElement !== box && b > a) look(a, b - a);
      }
    });
    box.addEventListener("input", () => find(false));
    if (box.value) find(true);
    new ResizeObserver(fit).observe(scroll);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { prepare(); ask(); });
    section.dataset.ready = "yes";
  };
  fetch(section.dataset.chart).then((answer) => answer.ok ? answer.json() : null)
    .then((found) => { if (found && found.key.length && found.lanes.length) begin(found); })
    .catch(() => {});
})();
