// Times answers of the runtime that a built site ships, under Node.
//   node cards.mjs DIST JOB.json RESULT.json
// The job: {groups: {name: [JSON texts]}}; the requests of a group are asked in turn, the first
// few unheard. The result: {name: [ms, one for each]}.

import { readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";
import { startSite } from "../../py/sitebuild/start_site.mjs";

const UNHEARD = 3;

const [dist, jobFile, resultFile] = process.argv.slice(2).map((path) => resolve(path));
const { groups } = JSON.parse(readFileSync(jobFile, "utf8"));
const { curebatch } = await startSite(dist);
const times = {};
for (const [name, requests] of Object.entries(groups)) {
  const each = requests.map((request) => {
    const begun = performance.now();
    const answer = JSON.parse(curebatch.answer(request));
    if (answer.faults.length) throw new Error(`${name}: ${answer.faults[0].text}`);
    return performance.now() - begun;
  });
  times[name] = each.slice(UNHEARD);
}
writeFileSync(resultFile, JSON.stringify(times));
