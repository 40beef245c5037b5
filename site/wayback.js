// The browser's half of the way back: hands Python the archive with the modules that do not ship
// at first. Python asks in the middle of an import and cannot wait, so the request blocks; a
// worker may do that.

import { RUNTIME } from "./runtime.js";

const address = new URL(`../${RUNTIME.rest}`, import.meta.url).href;

globalThis.pythonRest = () => {
  try {
    const request = new XMLHttpRequest();
    request.open("GET", address, false);
    request.responseType = "arraybuffer";
    request.send();
    return request.status === 200 ? new Uint8Array(request.response) : null;
  } catch {
    return null; // no network: the import fails and says which module is missing
  }
};
