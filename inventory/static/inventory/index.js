// Every custom element of these pages, and what goes with whoever signs out.

import "./bench-ring.js";
import "./confirm-all.js";
import "./event-form.js";
import "./fresh-part.js";
import "./language-switch.js";
import "./leaving.js";
import "./live-camera.js";
import "./padless.js";
import "./photo-progress.js";
import "./photo-scan.js";
import "./ready-line.js";
import "./record-says.js";
import "./scan-pad.js";
import "./scanner-lesson.js";
import "./screen-switch.js";
import "./show-typed.js";
import "./sound-switch.js";
import "./stack-drawing.js";
import "./tell-once.js";
import "./unsent-badge.js";
