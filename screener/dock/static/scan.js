// The handheld scanner types like a keyboard, much faster than a person, and ends with Enter. Wherever the cursor
// stands, a code that comes in so fast is meant for the scan field: it is taken out of the field it fell into.
import { say, sound } from "./say.js";

const FAST_MS = 60; // a person does not keep this up over six letters
const HICCUP_MS = 160; // a radio scanner may stumble once, never twice in a row
const SHORTEST_CODE = 6;
const BY_HAND_MS = 90; // a letter, on average: no scanner is so slow, no person types a part number faster
const SEPARATOR = "\u001d";
const SHOWN_SEPARATOR = "␝"; // a text field shows and keeps this one; the server takes it for the other
const bar = document.getElementById("scanbar");
const field = document.getElementById("scan");
const keys = document.getElementById("keys");

// A tablet must not raise its screen keyboard each time the page takes the cursor; "Type" asks for it.
let typing = !matchMedia("(pointer: coarse)").matches;
let typed = []; // letters since the last Enter: what, when, and what the field held before
let paced = []; // when each letter came into the scan field since it was empty

function isText(element) {
  return element instanceof HTMLTextAreaElement
    || (element instanceof HTMLInputElement && !["checkbox", "radio", "file", "button", "submit", "hidden"].includes(element.type));
}

// The separator between the parts of a code has no key of its own: scanners send Ctrl+] or F8 for it.
function letterOf(event) {
  if (event.ctrlKey && (event.key === "]" || event.code === "BracketRight")) return SEPARATOR;
  if (event.key === "F8") return SEPARATOR;
  if (event.ctrlKey || event.altKey || event.metaKey) return "";
  return event.key.length === 1 ? event.key : "";
}

// From the last letter back as long as they came at the scanner's speed.
function lastScan(now) {
  let start = typed.length;
  let next = now;
  let stumbled = false;
  while (start > 0) {
    const gap = next - typed[start - 1].at;
    if (gap > HICCUP_MS || (gap > FAST_MS && stumbled)) break;
    stumbled = gap > FAST_MS;
    next = typed[start - 1].at;
    start -= 1;
  }
  return typed.slice(start);
}

export function submitCode(code) {
  from("scanner");
  field.value = code.replaceAll(SEPARATOR, SHOWN_SEPARATOR);
  say(`Scanned: ${field.value}`);
  sound("scanned");
  bar.querySelector("form").requestSubmit();
}

// Typed by a person it finds the line; only what was scanned says what stands on the box.
function from(whom) {
  bar.querySelector("form").elements.by.value = whom;
}

function byHand() {
  const took = paced.length > 1 ? (paced.at(-1) - paced[0]) / (paced.length - 1) : Infinity;
  return took > BY_HAND_MS;
}

function onEnter(event) {
  const scan = lastScan(event.timeStamp);
  typed = [];
  if (event.target === field || scan.length < SHORTEST_CODE) return;
  event.preventDefault();
  event.stopImmediatePropagation();
  const [first] = scan;
  if (first.target?.isConnected) first.target.value = first.value;
  submitCode(scan.map((each) => each.letter).join(""));
}

function onKey(event) {
  if (event.isComposing) return;
  if (event.key === "Enter") { onEnter(event); return; }
  const letter = letterOf(event);
  if (!letter) return;
  const text = isText(event.target);
  const before = typed.at(-1);
  if (event.target === field) paced = field.value ? [...paced, event.timeStamp] : [event.timeStamp];
  typed.push({ letter, at: event.timeStamp, target: text ? event.target : null, value: text ? event.target.value : "" });
  if (typed.length > 4000) typed.shift();
  if (letter === SEPARATOR) {
    event.preventDefault();
    if (event.target === field) field.setRangeText(SHOWN_SEPARATOR, field.selectionStart, field.selectionEnd, "end");
  } else if (!text && before && event.timeStamp - before.at < FAST_MS) {
    // A space in a code must not press the button that has the cursor.
    event.preventDefault();
  }
}

function setKeys() {
  field.inputMode = typing ? "text" : "none";
  keys.setAttribute("aria-pressed", String(typing));
}

// What was just recorded, or why a form was not taken, is read first; a scan is caught wherever the cursor stands.
function tellFirst() {
  const wrong = document.querySelector("[aria-invalid=true]");
  const told = wrong ?? document.getElementById("done") ?? document.querySelector(".wrong");
  if (!told) return;
  if (told.matches(".wrong")) told.tabIndex = -1;
  // Whoever was faster than this script and has gone on in the page is not called back.
  const at = document.activeElement;
  if (!at || at === document.body || at === field || at.matches("[autofocus]")) told.focus();
  // What was typed into a refused form stays when the page takes in what others did.
  told.closest("form")?.setAttribute("data-dirty", "");
  const { run, line } = document.body.dataset;
  const home = `/deliveries/${run}${line ? `/lines/${encodeURIComponent(line)}` : ""}`;
  if (run) history.replaceState(null, "", home);
}

function takeCursor() {
  const at = document.activeElement;
  if (at && at !== document.body && at !== document.documentElement && at.id !== "main") return;
  field.focus({ preventScroll: true });
}

// A scan that began while one page gave way to the next: its first letters are handed on.
const HANDED_MS = 2500;

function handOn() {
  const letters = lastScan(performance.now()).map((each) => each.letter).join("");
  try {
    if (letters) sessionStorage.setItem("screener.scan", JSON.stringify({ letters, at: Date.now() }));
  } catch {
    // Without a store the scan is done once more.
  }
}

function takeOver() {
  try {
    const { letters, at } = JSON.parse(sessionStorage.getItem("screener.scan") ?? "{}");
    sessionStorage.removeItem("screener.scan");
    if (letters && Date.now() - at < HANDED_MS) field.value = letters.replaceAll(SEPARATOR, SHOWN_SEPARATOR) + field.value;
  } catch {
    // As above.
  }
}

window.addEventListener("pagehide", handOn);

if (bar && field) {
  takeOver();
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
  window.addEventListener("focus", () => { bar.classList.remove("off"); takeCursor(); });
  window.addEventListener("blur", () => bar.classList.add("off"));
  tellFirst();
  takeCursor();
  bar.querySelector("form").addEventListener("submit", (event) => {
    field.value = field.value.trim();
    if (!field.value) event.preventDefault();
    if (bar.querySelector("form").elements.by.value !== "scanner") from(byHand() ? "hand" : "scanner");
  });
}
