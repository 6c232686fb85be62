
// Laid behind the core's door by the builder: brings the rest of the code, which the first picture does not need, beside
// everything else, or at once where something asks for it before it is there.
const REST = new URL("fanlap_rest.wasm", import.meta.url);
const GONE = "The rest of the page could not be loaded";
let coming;

/** Brings it, once. Where that fails, the next call tries anew. */
export function bring() {
  coming ??= Promise.all([compiled(), __wbg_init()]).then(
    ([rest]) => join(rest),
    (error) => {
      coming = undefined;
      throw error;
    },
  );
  return coming;
}

async function compiled() {
  const answer = await fetch(REST).catch((error) => {
    throw new Error(`${GONE}: ${error.message}.`);
  });
  if (!answer.ok) throw new Error(`${GONE}: ${answer.status}.`);
  return WebAssembly.compile(await answer.arrayBuffer());
}

function join(rest) {
  if (wasm.rest_is_here.value) return;
  new WebAssembly.Instance(rest, { first: wasm });
  wasm.rest_is_here.value = 1;
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
