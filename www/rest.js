// Brings the rest of the core, which the first picture does not need: beside everything else, or at once where
// something asks for it before it is there. Knows nothing of what it holds.

const REST = new URL("./pkg/fanlap_rest.wasm", import.meta.url);
const GONE = "The rest of the page could not be loaded";
let first;
let coming;

/** Brings it for a core, once that is there itself. Where it fails, the next call tries anew. */
export function bring(core) {
  coming ??= whole(core).catch((error) => {
    coming = undefined;
    throw error;
  });
  return coming;
}

async function whole(core) {
  const [exports, module] = await Promise.all([core, compiled()]);
  meet(exports);
  if (!first.rest_is_here.value) join(module);
}

async function compiled() {
  const answer = await fetch(REST).catch((error) => {
    throw new Error(`${GONE}: ${error.message}.`);
  });
  if (!answer.ok) throw new Error(`${GONE}: ${answer.status}.`);
  return WebAssembly.compile(await answer.arrayBuffer());
}

/** Takes the exports of the core. */
export function meet(exports) {
  first = exports;
}

function join(module) {
  new WebAssembly.Instance(module, { first });
  first.rest_is_here.value = 1;
}

// What the core calls where it needs something of the rest this very moment: everything waits for it.
globalThis.fanlapFetchRest = () => {
  const asked = new XMLHttpRequest();
  asked.open("GET", REST, false);
  asked.overrideMimeType("text/plain; charset=x-user-defined");
  asked.send();
  if (asked.status !== 200) throw Object.assign(new Error(`${GONE}: ${asked.status}.`), { ofTheRest: true });
  join(new WebAssembly.Module(Uint8Array.from(asked.responseText, (letter) => letter.charCodeAt(0))));
};
