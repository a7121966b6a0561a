// What others do on the same record shows here by itself: the server says that something changed, the page is asked
// for anew, and only the parts that differ are put in. A part that somebody is filling in is left alone.
import { fillNames } from "./names.js";
import { say, sayLost, sound } from "./say.js";

const page = document.body.dataset;
const LOST = "No connection. What you see may be old; photos are kept here and sent when it is back.";
let asked = 0;
let again = false;
let source = null;

async function refresh() {
  if (asked) { again = true; return; }
  asked = 1;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" }, cache: "no-store" });
    if (answer.ok && !answer.redirected) take(new DOMParser().parseFromString(await answer.text(), "text/html"));
  } catch {
    // The stream below says that the connection is gone.
  } finally {
    asked = 0;
    if (again) { again = false; refresh(); }
  }
}

function take(fresh) {
  for (const part of document.querySelectorAll("[data-live]")) {
    const other = fresh.getElementById(part.id);
    if (!other || part.dataset.busy || sameAs(part, other)) continue;
    const filling = part.querySelector("form[data-dirty], form input:focus, form select:focus, form textarea:focus");
    if (filling && !part.matches("[data-says]")) continue;
    put(part, other);
  }
}

// As the server sent it: what scripts and fingers change in a part is no news.
const served = new WeakMap();

function remember(part) {
  served.set(part, part.outerHTML);
}

function sameAs(part, other) {
  return served.get(part) === other.outerHTML;
}

function put(part, other) {
  const open = [...part.querySelectorAll("details[open]")].map((each) => each.id);
  const focused = part.contains(document.activeElement) ? document.activeElement.id : "";
  const before = part.dataset.says ?? "";
  remember(other);
  part.replaceWith(other);
  for (const id of open) if (id) document.getElementById(id)?.setAttribute("open", "");
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  fillNames(other);
  document.dispatchEvent(new CustomEvent("put", { detail: other }));
  if (other.dataset.says && other.dataset.says !== before) {
    const box = other.getBoundingClientRect();
    say(other.dataset.says, 12, { quiet: box.bottom > 0 && box.top < innerHeight });
    sound(other.dataset.outcome);
  }
}

function listen() {
  source = new EventSource(`/live?after=${encodeURIComponent(page.after || "0")}`);
  source.addEventListener("hello", () => {
    document.documentElement.dataset.live = "yes";
    sayLost("");
    document.dispatchEvent(new CustomEvent("connected-again"));
    refresh();
  });
  source.addEventListener("change", (event) => {
    const change = JSON.parse(event.data);
    page.after = String(change.id);
    if (!page.run || String(change.run_id) === page.run || change.run_id === null) refresh();
  });
  source.onerror = () => {
    document.documentElement.dataset.live = "no";
    sayLost(LOST);
    // Browsers give up on some failures for good; the page does not.
    if (source.readyState === EventSource.CLOSED) setTimeout(listen, 3000);
  };
}

function listenAgain() {
  source.close();
  listen();
}

document.addEventListener("input", (event) => event.target.closest?.("form")?.setAttribute("data-dirty", ""));
document.addEventListener("reset", (event) => event.target.removeAttribute("data-dirty"));
// While the camera of the tablet is open, its button must not be put anew: the photo would fall to the ground.
document.addEventListener("click", (event) => {
  const part = event.target instanceof HTMLInputElement && event.target.type === "file" && event.target.closest("[data-live]");
  if (part) part.dataset.busy = "camera";
});
const free = (event) => {
  const part = event.target instanceof HTMLInputElement && event.target.type === "file" && event.target.closest("[data-live]");
  if (part) { delete part.dataset.busy; setTimeout(refresh, 300); }
};
document.addEventListener("change", free);
document.addEventListener("cancel", free, { capture: true });
document.addEventListener("photo-sent", refresh);
window.addEventListener("offline", () => { document.documentElement.dataset.live = "no"; sayLost(LOST); });
window.addEventListener("online", listenAgain);
window.addEventListener("pageshow", (event) => { if (event.persisted) listenAgain(); });
window.addEventListener("pagehide", () => source?.close());

document.querySelectorAll("[data-live]").forEach(remember);
if (document.querySelector("[data-live]")) listen();
