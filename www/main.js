// Starts the page: loads what the first picture needs and hands over; once that is drawn, the rest follows. Knows nothing
// of what the page does.
import init, { rescued, rest_came, rest_failed, start } from "./pkg/fanlap.js";
import { bring, meet } from "./rest.js";

const fonts = ["11px B612", "bold 11px B612"].map((font) => document.fonts.load(font).catch(() => []));
const core = init();

/** Brings the rest, and tells whoever waits for it. */
globalThis.fanlapBringRest = () =>
  bring(core).then(
    () => {
      document.documentElement.dataset.rest = "yes";
      rest_came();
    },
    (error) => rest_failed(error.message),
  );

// What needed the rest at once, and did not get it, stands still.
addEventListener("error", ({ error }) => {
  if (!error?.ofTheRest) return;
  const notice = document.getElementById("notice");
  notice.querySelector("[data-part=what]").textContent = "The page has failed";
  notice.querySelector("[data-part=why]").textContent = `Load it again: the job is kept. What happened: ${error.message}`;
  notice.hidden = false;
});

// what was left or sent is taken up with the rest at hand
const again = location.hash !== "" || Object.keys(localStorage).some((key) => key.startsWith("fanlap."));
try {
  await Promise.all([core.then(meet), ...fonts, again ? bring(core) : undefined]);
} catch (error) {
  console.error(error);
  document.body.classList.remove("starting");
  document.getElementById("too-old").hidden = false;
}

// What was kept and cannot be shown: the page's own code may have stopped over it, so this stands beside that.
const LOADING = "fanlap.loading";
const refused = (part, act) => document.getElementById(`refused-${part}`).addEventListener("click", act);
refused("save", () => {
  const text = localStorage.getItem(localStorage.getItem(LOADING)) ?? "";
  let file = text;
  try {
    file = rescued(text);
  } catch {
    // the bare text, then
  }
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([file], { type: "application/json" }));
  link.download = "kept.json";
  link.click();
  URL.revokeObjectURL(link.href);
});
refused("again", () => {
  localStorage.removeItem(LOADING);
  location.reload();
});
refused("afresh", () => {
  localStorage.removeItem(localStorage.getItem(LOADING));
  localStorage.removeItem(LOADING);
  location.reload();
});
start();

// it is drawn in the first frame
await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
performance.mark("first picture");
globalThis.fanlapBringRest();

// Offline after the first visit, unless the address says ?nosw.
if ("serviceWorker" in navigator && !new URLSearchParams(location.search).has("nosw")) {
  navigator.serviceWorker.register("./sw.js", { updateViaCache: "none" }).catch(() => {});
}
