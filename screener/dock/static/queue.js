// Photos on their way, kept in the browser's own store until the server has said "got it": a reload, a flat battery
// or a lost connection loses none. Where the store is refused (private windows), they are kept in memory only.
const NAME = "screener";
const memory = new Map();
let opened = null;

function open() {
  opened ??= new Promise((done, failed) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("photos", { keyPath: "id" });
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
  return opened;
}

async function within(mode, work) {
  const base = await open();
  return new Promise((done, failed) => {
    const asked = work(base.transaction("photos", mode).objectStore("photos"));
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => failed(asked.error);
  });
}

export let lasting = true;

export async function keep(photo) {
  try { await within("readwrite", (store) => store.put(photo)); } catch { lasting = false; memory.set(photo.id, photo); }
}

export async function drop(id) {
  memory.delete(id);
  try { await within("readwrite", (store) => store.delete(id)); } catch { lasting = false; }
}

export async function waiting() {
  let stored = [];
  try { stored = await within("readonly", (store) => store.getAll()); } catch { lasting = false; }
  return [...stored, ...memory.values()].sort((one, other) => one.at - other.at);
}
