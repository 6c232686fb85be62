// Starts the page: loads the core and the fonts, then hands over. Knows nothing of what the page does.
import init, { start } from "./pkg/fanlap.js";

const fonts = ["11px B612", "bold 11px B612"].map((font) => document.fonts.load(font).catch(() => []));
try {
  await Promise.all([init(), ...fonts]);
  start();
} catch (error) {
  console.error(error);
  document.body.classList.remove("starting");
  document.getElementById("too-old").hidden = false;
}

// Offline after the first visit, unless the address says ?nosw.
if ("serviceWorker" in navigator && !new URLSearchParams(location.search).has("nosw")) {
  navigator.serviceWorker.register("./sw.js", { updateViaCache: "none" }).catch(() => {});
}
