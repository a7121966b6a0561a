// The live camera, where the browser allows it: on https or on this machine. Elsewhere the buttons open the device's
// own camera, which works everywhere.
import { give } from "./photos.js";
import { say } from "./say.js";
import { submitCode } from "./scan.js";

const able = window.isSecureContext && Boolean(navigator.mediaDevices?.getUserMedia);

function addButtons() {
  for (const form of document.querySelectorAll("form[data-photo]:not([data-live-camera])")) {
    if (form.dataset.photo === "other") continue;
    form.dataset.liveCamera = "yes";
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = "Live camera";
    button.className = "quiet";
    button.setAttribute("aria-label", `Live camera for ${form.dataset.name}`);
    button.addEventListener("click", () => open(form.dataset.photo, form.dataset.name));
    form.append(button);
  }
}

async function open(shows, title) {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4096 } } });
  } catch {
    say("The camera cannot be opened here. Use the other button.", 10);
    return;
  }
  const dialog = document.createElement("dialog");
  dialog.setAttribute("aria-label", `Camera: ${title}`);
  const video = document.createElement("video");
  video.playsInline = true;
  video.muted = true;
  video.srcObject = stream;
  const row = document.createElement("div");
  row.className = "row";
  const take = buttonOf(`Take: ${title}`, "main-thing");
  const shut = buttonOf("Close");
  row.append(take, shut);
  dialog.append(video, row);
  document.body.append(dialog);
  dialog.addEventListener("close", () => {
    stream.getTracks().forEach((track) => track.stop());
    dialog.remove();
  });
  shut.addEventListener("click", () => dialog.close());
  take.addEventListener("click", async () => {
    const blob = await frameOf(video);
    dialog.close();
    if (blob) await give(blob, `${shows}.jpg`, shows, title);
  });
  dialog.showModal();
  await video.play();
  if (shows === "box") watchCodes(video, dialog);
}

// Where the browser itself reads codes, the box's code finds its line before a photo is taken.
async function watchCodes(video, dialog) {
  if (!("BarcodeDetector" in window) || document.body.dataset.line) return;
  const detector = new BarcodeDetector();
  while (dialog.open) {
    const [code] = await detector.detect(video).catch(() => []);
    if (code?.rawValue) { dialog.close(); submitCode(code.rawValue); return; }
    await new Promise((done) => setTimeout(done, 300));
  }
}

function buttonOf(text, kind = "") {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = text;
  button.className = kind;
  return button;
}

function frameOf(video) {
  const canvas = document.createElement("canvas");
  canvas.width = video.videoWidth;
  canvas.height = video.videoHeight;
  canvas.getContext("2d").drawImage(video, 0, 0);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.92));
}

if (able) {
  addButtons();
  document.addEventListener("put", addButtons);
}
