// Starts the page: loads the core and the fonts, then hands over. Knows nothing of what the page does.
import init, { rescued, start } from "./pkg/fanlap.js";

const fonts = ["11px B612", "bold 11px B612"].map((font) => document.fonts.load(font).catch(() => []));
try {
  await Promise.all([init(), ...fonts]);
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

// Offline after the first visit, unless the address says ?nosw.
if ("serviceWorker" in navigator && !new URLSearchParams(location.search).has("nosw")) {
  navigator.serviceWorker.register("./sw.js", { updateViaCache: "none" }).catch(() => {});
}
