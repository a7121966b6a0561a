// A form that is being sent says so and is not sent twice; a refusal that needs no new page is not made one.
import { say } from "./say.js";

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || event.defaultPrevented) return;
  if (form.dataset.sent) { event.preventDefault(); return; }
  if (form.method === "get" || form.method === "dialog") return;
  form.dataset.sent = "yes";
  if (form.dataset.busy) say(form.dataset.busy, 30);
  setTimeout(() => { delete form.dataset.sent; }, 5000);
});

window.addEventListener("pageshow", () => {
  for (const form of document.querySelectorAll("form[data-sent]")) delete form.dataset.sent;
});
