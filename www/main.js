// Starts the page: loads what the first picture needs and hands over; once that is drawn, the rest follows. Says where
// the page stands and how others get it. Knows nothing of what the page does.
import init, { bring, rescued, rest_came, rest_failed, start } from "./pkg/fanlap.js";

const fonts = ["11px B612", "bold 11px B612"].map((font) => document.fonts.load(font).catch(() => []));

/** Brings the rest, and tells whoever waits for it. */
globalThis.fanlapBringRest = () =>
  bring().then(
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
  const why = `Load it again: the job is kept. What happened: ${error.message}`;
  notice.querySelector("[data-part=why]").textContent = why;
  notice.hidden = false;
});

// what was left or sent is taken up with the rest of the code at hand
function left() {
  try {
    return Object.keys(localStorage).some((key) => key.startsWith("fanlap."));
  } catch {
    return false; // a browser that keeps nothing
  }
}
const again = location.hash !== "" || left();
try {
  await Promise.all([init(), ...fonts, again ? bring() : undefined]);
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
start(again);

// it is drawn in the first frame
await new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)));
performance.mark("first picture");
globalThis.fanlapBringRest();

// Offline after the first visit, unless the address says ?nosw. A page of one file has no need of it.
const oneFile = "worker" in document.documentElement.dataset;
if ("serviceWorker" in navigator && !oneFile && !new URLSearchParams(location.search).has("nosw")) {
  navigator.serviceWorker.register("./sw.js", { updateViaCache: "none" }).catch(() => {});
}

// How others open this page: asked of the server when somebody wants to know. One that serves the room knows its
// addresses.
async function addresses() {
  const answer = await fetch("room.json").catch(() => undefined);
  return answer?.ok ? answer.json().catch(() => []) : [];
}

function drawn({ address, side, d }) {
  const item = document.getElementById("room-code").content.firstElementChild.cloneNode(true);
  const link = item.querySelector("a");
  link.textContent = link.href = address;
  const code = item.querySelector("svg");
  if (!d) code.remove();
  code.setAttribute("viewBox", `0 0 ${side} ${side}`);
  code.querySelector("path").setAttribute("d", d ?? "");
  return item;
}

const here = ["localhost", "127.0.0.1", "[::1]"].includes(location.hostname);
const isFile = location.protocol === "file:";
document.getElementById("plain-http").hidden = isSecureContext || isFile;
document.getElementById("room").addEventListener("toggle", async ({ target }) => {
  if (!target.open) return;
  const told = isFile || oneFile ? [] : await addresses();
  const elsewhere = told.length || isFile || here ? told : [{ address: location.origin + location.pathname }];
  document.getElementById("room-codes").replaceChildren(...elsewhere.map(drawn));
  const show = (id, on) => { document.getElementById(id).hidden = !on; };
  show("room-open", told.length > 0);
  show("room-file", isFile);
  show("room-alone", here && told.length === 0);
});
