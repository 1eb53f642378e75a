// Reads a code with the camera, where the browser can do that by itself.
"use strict";
(async () => {
  const place = document.getElementById("camera");
  if (!place) return;
  const say = (text) => { place.querySelector("[data-say]").textContent = text; };
  const can = "BarcodeDetector" in window && navigator.mediaDevices
    && (await BarcodeDetector.getSupportedFormats().catch(() => [])).includes("qr_code");
  place.hidden = false;
  if (!can) {
    say("This browser can't read codes by itself. Use the phone's own camera app, or type the short code.");
    return;
  }
  const start = place.querySelector("button");
  const video = place.querySelector("video");
  start.hidden = false;
  const follow = (text) => {
    let to = "/code?c=" + encodeURIComponent(text);
    if (/^https?:/i.test(text)) {
      const url = new URL(text);
      const code = url.pathname === "/code" && url.searchParams.get("c");
      if (!code && url.origin !== location.origin) {
        say("That code leads elsewhere and is not followed: " + text);
        return false;
      }
      to = code ? "/code?c=" + encodeURIComponent(code) : url.pathname + url.search;
    }
    location.assign(to);
    return true;
  };
  start.addEventListener("click", async () => {
    let stream;
    try {
      stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment" } });
    } catch {
      say("The camera can't be used: allow it in the browser, or type the short code.");
      return;
    }
    start.hidden = true;
    video.hidden = false;
    video.srcObject = stream;
    await video.play();
    say("Hold the code in the picture.");
    const reader = new BarcodeDetector({ formats: ["qr_code"] });
    const look = async () => {
      const found = await reader.detect(video).catch(() => []);
      if (found.length && follow(found[0].rawValue)) {
        for (const track of stream.getTracks()) track.stop();
        return;
      }
      setTimeout(look, 200);
    };
    look();
  });
})();
