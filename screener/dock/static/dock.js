// Everything here only makes the pages quicker: each of them works with plain forms when no script runs.
import "./names.js";
import "./scan.js";
import "./photos.js";
import "./live.js";
import "./camera.js";
import "./forms.js";

document.documentElement.classList.add("scripted");
