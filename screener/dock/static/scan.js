// The handheld scanner types like a keyboard, much faster than a person, and ends with Enter. Wherever the cursor
// stands, a code that comes in so fast is meant for the scan field: it is taken out of the field it fell into.
import { say, sound } from "./say.js";

const FASTEST_TYPIST_MS = 45; // a person does not keep this up over several letters
const SHORTEST_CODE = 5;
const PAUSE_MS = 250;
const bar = document.getElementById("scanbar");
const field = document.getElementById("scan");
const keys = document.getElementById("keys");

// A tablet must not raise its screen keyboard each time the page takes the cursor; "Type" asks for it.
let typing = !matchMedia("(pointer: coarse)").matches;

let burst = "";
let lastAt = 0;
let slow = 0;
let home = null; // the field the burst fell into, and what stood there before

function isText(element) {
  return element instanceof HTMLTextAreaElement
    || (element instanceof HTMLInputElement && !["checkbox", "radio", "file", "button", "submit", "hidden"].includes(element.type));
}

function begin(target) {
  burst = "";
  slow = 0;
  home = isText(target) && target !== field ? { target, value: target.value, at: target.selectionStart } : null;
}

// The separator between the parts of a code has no key of its own: scanners send Ctrl+], F8 or Alt+029 for it.
function letterOf(event) {
  if (event.ctrlKey && (event.key === "]" || event.code === "BracketRight")) return "\u001d";
  if (event.key === "F8") return "\u001d";
  if (event.ctrlKey || event.altKey || event.metaKey) return "";
  return event.key.length === 1 ? event.key : "";
}

function isScan() {
  return burst.length >= SHORTEST_CODE && slow <= 1;
}

export function submitCode(code) {
  field.value = code;
  say(`Scanned: ${code.replaceAll("\u001d", " ")}`);
  sound("scanned");
  bar.querySelector("form").requestSubmit();
}

function onKey(event) {
  if (event.isComposing) return;
  const now = performance.now();
  const gap = now - lastAt;
  if (event.key === "Enter") {
    if (isScan() && gap < PAUSE_MS && event.target !== field) {
      event.preventDefault();
      event.stopImmediatePropagation();
      if (home && home.target.isConnected) home.target.value = home.value;
      const code = burst;
      begin(null);
      submitCode(code);
    } else if (event.target === field && isScan() && gap < PAUSE_MS && burst.includes("\u001d")) {
      event.preventDefault();
      submitCode(burst);
    }
    begin(event.target);
    return;
  }
  const letter = letterOf(event);
  if (!letter) return;
  if (gap > PAUSE_MS || !burst) begin(event.target);
  else if (gap > FASTEST_TYPIST_MS) slow += 1;
  burst += letter;
  lastAt = now;
  const fast = burst.length >= 3 && slow === 0;
  // Outside a text field a space would press a button and a letter would jump about: the code is kept, nothing else.
  if (letter === "\u001d" || (fast && !isText(event.target))) event.preventDefault();
}

function setKeys() {
  field.inputMode = typing ? "text" : "none";
  keys.setAttribute("aria-pressed", String(typing));
}

function takeCursor() {
  const at = document.activeElement;
  if (at && at !== document.body && at !== document.documentElement && at.id !== "main") return;
  field.focus({ preventScroll: true });
}

if (bar && field) {
  document.addEventListener("keydown", onKey, { capture: true });
  keys.hidden = !matchMedia("(pointer: coarse)").matches;
  setKeys();
  keys.addEventListener("click", () => {
    typing = !typing;
    setKeys();
    field.focus();
  });
  // The cursor goes back to the scan field whenever a tap has led nowhere.
  document.addEventListener("click", () => setTimeout(takeCursor, 0));
  document.addEventListener("focusout", () => setTimeout(takeCursor, 400));
  window.addEventListener("focus", takeCursor);
  window.addEventListener("blur", () => bar.classList.add("off"));
  window.addEventListener("focus", () => bar.classList.remove("off"));
  if (!document.querySelector("[autofocus]") && !location.hash) takeCursor();
  bar.querySelector("form").addEventListener("submit", (event) => {
    field.value = field.value.trim();
    if (!field.value) event.preventDefault();
  });
}
