// Pages without a form: only the copy on the device.

import "./language.js";
import { openUpdates } from "./update.js";

const words = JSON.parse(document.getElementById("words").textContent);
const updates = openUpdates({ words });

// After what the reader came for.
const begin = () => (globalThis.requestIdleCallback ?? setTimeout)(() => updates.begin());
if (document.readyState === "complete") begin();
else addEventListener("load", begin);
