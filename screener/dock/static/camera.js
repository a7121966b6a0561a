// The live camera, where the browser allows it: on https or on this machine. Elsewhere the buttons open the device's
// own camera, which works everywhere.
import { give } from "./photos.js";
import { say } from "./say.js";
import { submitCode } from "./scan.js";

const LONGEST_FRAME_PX = 1600; // enough for a code that fills a third of the picture, and quickly sent
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

// One dialog for everything the camera does here: the picture, what it is for, and buttons; closing it frees the camera.
async function lookThrough(title, ...buttons) {
  let stream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({ video: { facingMode: "environment", width: { ideal: 4096 } } });
  } catch {
    say("The camera cannot be opened here. Use the other button.", 10);
    return null;
  }
  const dialog = document.createElement("dialog");
  dialog.setAttribute("aria-label", `Camera: ${title}`);
  const video = document.createElement("video");
  video.playsInline = true;
  video.muted = true;
  video.srcObject = stream;
  const told = document.createElement("p");
  told.setAttribute("role", "status");
  const row = document.createElement("div");
  row.className = "row";
  const shut = buttonOf("Close");
  row.append(...buttons, shut);
  dialog.append(video, told, row);
  document.body.append(dialog);
  dialog.addEventListener("close", () => {
    stream.getTracks().forEach((track) => track.stop());
    dialog.remove();
  });
  shut.addEventListener("click", () => dialog.close());
  dialog.showModal();
  await video.play();
  return { dialog, video, told };
}

async function open(shows, title) {
  const take = buttonOf(`Take: ${title}`, "main-thing");
  const seen = await lookThrough(title, take);
  if (!seen) return;
  take.addEventListener("click", async () => {
    const blob = await frameOf(seen.video);
    seen.dialog.close();
    if (blob) await give(blob, `${shows}.jpg`, shows, title);
  });
}

// A code before the camera is as good as one before the scanner: pictures go to the server until one of them is read.
async function readCode() {
  const seen = await lookThrough("code on the box");
  if (!seen) return;
  seen.told.textContent = "Hold the code before the camera, flat, a hand's width away.";
  while (seen.dialog.open) {
    const began = Date.now();
    const code = await codeIn(seen);
    if (!seen.dialog.open) return;
    if (code) { seen.dialog.close(); submitCode(code); return; }
    await new Promise((done) => setTimeout(done, Math.max(250, 700 - (Date.now() - began))));
  }
}

async function codeIn({ video, told }) {
  if (!video.videoWidth) return "";
  try {
    const answer = await fetch("/api/v1/decode", {
      method: "POST",
      headers: { "X-CSRF-Token": document.body.dataset.token, "Content-Type": "image/jpeg" },
      body: await frameOf(video, LONGEST_FRAME_PX),
    });
    const found = await answer.json();
    if (!answer.ok) { told.textContent = answer.status === 503 ? "Busy, goes on by itself." : found.says ?? ""; return ""; }
    // With several codes in the picture, the one that a line asks for.
    const codes = found.codes.filter((each) => each.text.trim());
    return (codes.find((each) => each.lines.length) ?? codes[0])?.text ?? "";
  } catch {
    told.textContent = "No connection. Type the number, or use the scanner.";
    return "";
  }
}

function buttonOf(text, kind = "") {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = text;
  button.className = kind;
  return button;
}

function frameOf(video, longest = Infinity) {
  const canvas = document.createElement("canvas");
  const share = Math.min(1, longest / Math.max(video.videoWidth, video.videoHeight));
  canvas.width = Math.round(video.videoWidth * share);
  canvas.height = Math.round(video.videoHeight * share);
  canvas.getContext("2d").drawImage(video, 0, 0, canvas.width, canvas.height);
  return new Promise((done) => canvas.toBlob(done, "image/jpeg", 0.92));
}

if (able) {
  addButtons();
  document.addEventListener("put", addButtons);
  const reader = document.getElementById("read-code");
  if (reader) {
    reader.hidden = false;
    reader.addEventListener("click", readCode);
  }
}
