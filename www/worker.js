// Looks for causes, for plans, or for what a booth sheet foresees, beside the page, so that the page never waits: one
// rehearsal a step. The search for causes is dropped when another job comes; the others are stopped with their worker.
import init, { Advising, Explaining, bring, foresee, tell_faults } from "./pkg/fanlap.js";

const ready = Promise.all([init().then(tell_faults), bring()]);
ready.catch(died);
let present = 0;

self.onmessage = ({ data }) => {
  if (data.advise) advise(data);
  else if (data.foresee) foreseen(data).catch(died);
  else explain(data);
};

// The page waits for this lock: it is free when this worker is gone, whatever it died of.
const alive = `fanlap worker ${Date.now()} ${Math.random()}`;
// Where there are no locks (plain http) or none for a file, its errors alone are heard.
self.navigator.locks?.request(alive, () => {
  self.postMessage({ alive });
  return new Promise(() => {});
}).catch(() => {});

// A job that was refused is told of with its reason; after a fault of the program itself nothing here can be trusted.
function died(error) {
  self.postMessage({ died: error?.message || String(error) });
}

async function foreseen({ foresee: job, within }) {
  await ready;
  self.postMessage({ foreseen: foresee(job, within) });
}

async function advise({ advise, wishes }) {
  await ready;
  try {
    const search = new Advising(advise, wishes);
    let told = 0;
    let proved = 0;
    while (search.step()) {
      if (search.proved() > proved) {
        proved = search.proved();
        self.postMessage({ progress: Math.min(search.progress(), 0.99), advice: search.advice() });
      } else if (search.progress() > told + 0.01) {
        told = search.progress();
        self.postMessage({ progress: Math.min(told, 0.99) });
      }
    }
    self.postMessage({ progress: 1, advice: search.advice() });
  } catch (error) {
    if (typeof error !== "string") return died(error);
    self.postMessage({ progress: 1, failed: error });
  }
}

async function explain({ serial, job, before, byHand }) {
  present = serial;
  await ready;
  if (serial !== present || !job) return;
  let search;
  try {
    search = new Explaining(job, before, byHand);
    self.postMessage({ serial, progress: 0, findings: search.findings() });
    let told = 0;
    while (search.step()) {
      // a pause, so that another job's message is heard
      await new Promise((go) => setTimeout(go));
      if (serial !== present) return search.free();
      if (search.progress() > told + 0.04) {
        told = search.progress();
        self.postMessage({ serial, progress: told });
      }
    }
    self.postMessage({ serial, progress: 1, findings: search.findings() });
  } catch (error) {
    if (typeof error !== "string") return died(error);
    self.postMessage({ serial, progress: 1, failed: error });
    return;
  }
  search.free();
}
