// One place for news: shown at the foot of the page and read out by a screen reader. Sounds and a buzz if wanted.
const said = document.getElementById("said");
const lost = document.getElementById("lost");
const button = document.getElementById("sounds");
let timer = 0;
let audio = null;

export function say(text, seconds = 6, { quiet = false } = {}) {
  said.classList.toggle("unseen", quiet);
  said.textContent = text;
  clearTimeout(timer);
  timer = setTimeout(() => { said.textContent = ""; }, seconds * 1000);
}

export function sayLost(text) {
  if (lost.textContent !== text) lost.textContent = text;
}

// Told apart by rhythm and pitch: two rising tones for "use", three equal ones for "hold", two falling for "send back".
const TONES = {
  use: [[660, 0], [880, 0.16]],
  hold: [[520, 0], [520, 0.2], [520, 0.4]],
  "send back": [[520, 0], [330, 0.24]],
  scanned: [[1200, 0]],
  "not found": [[240, 0], [240, 0.22]],
};

export function sound(name) {
  const tones = TONES[name];
  if (!tones || !wanted()) return;
  if (navigator.vibrate) navigator.vibrate(tones.map(() => 90).flatMap((buzz) => [buzz, 60]));
  try {
    audio ??= new AudioContext();
    for (const [pitch, after] of tones) {
      const tone = audio.createOscillator();
      const loud = audio.createGain();
      tone.frequency.value = pitch;
      tone.type = "triangle";
      loud.gain.value = 0.25;
      tone.connect(loud).connect(audio.destination);
      tone.start(audio.currentTime + after);
      tone.stop(audio.currentTime + after + 0.13);
    }
  } catch {
    // A device without sound: the words are on the page.
  }
}

function wanted() {
  try { return localStorage.getItem("screener.sounds") === "on"; } catch { return false; }
}

function show() {
  const on = wanted();
  button.textContent = on ? "Sounds: on" : "Sounds: off";
  button.setAttribute("aria-pressed", String(on));
}

if (button) {
  button.hidden = false;
  show();
  button.addEventListener("click", () => {
    try { localStorage.setItem("screener.sounds", wanted() ? "off" : "on"); } catch { return; }
    show();
    sound("use");
  });
}
