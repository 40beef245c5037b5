// Lets the runtime that a built site ships work out one card again and again, under Node, and looks
// at Python's memory meanwhile.
//   node heap.mjs DIST JOB.json RESULT.json
// The job: {requests: [JSON texts], times, every}. The result: {bytes, used}, each a list: the
// size of the WebAssembly memory and how much of it is in use, after every so many.

import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { startSite } from "../../py/sitebuild/start_site.mjs";

const [dist, jobFile, resultFile] = process.argv.slice(2).map((path) => resolve(path));
const job = JSON.parse(readFileSync(jobFile, "utf8"));
const { python, curebatch } = await startSite(dist);
const module = python._module;
const collect = python.runPython("import gc; gc.collect");
const account = module._malloc(40); // ten words, as mallinfo writes them

function inUse() {
  collect();
  module._mallinfo(account);
  return module.HEAPU32[account / 4 + 7]; // "uordblks": bytes in blocks that are in use
}

const bytes = [];
const used = [];
const look = () => {
  bytes.push(module.HEAPU8.length);
  used.push(inUse());
};
for (let time = 0; time < job.times; time++) {
  if (time % job.every === 0) look();
  curebatch.answer(job.requests[time % job.requests.length]);
}
look();
writeFileSync(resultFile, JSON.stringify({ bytes, used }));
