// Who works at this tablet: typed once, put into every form after that. It stays on this device.
const KEY = "screener.who";
const place = document.getElementById("whoami");

function known() {
  try { return localStorage.getItem(KEY) ?? ""; } catch { return ""; }
}

export function fillNames(root = document) {
  for (const field of root.querySelectorAll("input[data-who]")) if (!field.value) field.value = known();
  if (place) place.textContent = known() ? `At this device: ${known()}` : "";
}

document.addEventListener("change", (event) => {
  const field = event.target;
  if (!(field instanceof HTMLInputElement) || !field.matches("[data-who]") || !field.value.trim()) return;
  try { localStorage.setItem(KEY, field.value.trim()); } catch { return; }
  if (place) place.textContent = `At this device: ${known()}`;
});

fillNames();
