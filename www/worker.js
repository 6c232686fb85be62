// Looks for causes beside the page, so that the page never waits: one rehearsal a step, dropped when another job comes.
import init, { Explaining } from "./pkg/fanlap.js";

const ready = init();
let present = 0;

self.onmessage = async ({ data: { serial, job } }) => {
  present = serial;
  await ready;
  if (serial !== present || !job) return;
  let search;
  try {
    search = new Explaining(job);
    self.postMessage({ serial, progress: 0, findings: search.findings() });
    let told = 0;
    while (search.step()) {
      // a pause, so that another job's message is heard
      await new Promise((go) => setTimeout(go));
      if (serial !== present) return;
      if (search.progress() > told + 0.04) {
        told = search.progress();
        self.postMessage({ serial, progress: told });
      }
    }
    self.postMessage({ serial, progress: 1, findings: search.findings() });
  } catch (error) {
    self.postMessage({ serial, progress: 1, failed: String(error) });
  } finally {
    search?.free();
  }
};
