// The core within the page: its WebAssembly packed as text, unpacked by the page and by every worker for itself.
function unpackedCore() {
  const bytes = Uint8Array.from(atob("PACKED"), (letter) => letter.charCodeAt(0));
  const unpacked = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  const headers = { "content-type": "application/wasm" };
  return wasm_bindgen({ module_or_path: new Response(unpacked, { headers }) });
}

// Workers are started from the text of these two scripts; the root element says where.
function startWorkersFrom(...ids) {
  const texts = ids.map((id) => document.getElementById(id).textContent);
  const worker = new Blob(texts.map((text) => `${text}\n`), { type: "text/javascript" });
  document.documentElement.dataset.worker = URL.createObjectURL(worker);
}

// Nothing follows later: the core is here as a whole.
wasm_bindgen.bring = async () => {};
