// Inspects a job in the WebAssembly module: node smoke.mjs MODULE JOB [RESULT of `storystick inspect --format json`]
import { readFileSync } from "node:fs";
import assert from "node:assert/strict";

const [modulePath, jobPath, resultPath] = process.argv.slice(2);
const module = new WebAssembly.Module(readFileSync(modulePath));
assert.deepEqual(WebAssembly.Module.imports(module), [], "the engine needs nothing from its host");
const { exports } = new WebAssembly.Instance(module, {});

function inspect(text) {
  const bytes = new TextEncoder().encode(text);
  const room = exports.room_for(bytes.length);
  new Uint8Array(exports.memory.buffer, room, bytes.length).set(bytes);
  const at = exports.inspect(room, bytes.length, 2026, 11, 25);
  const length = new DataView(exports.memory.buffer).getUint32(at, true);
  return JSON.parse(new TextDecoder().decode(new Uint8Array(exports.memory.buffer, at + 4, length)));
}

const start = performance.now();
const answer = inspect(readFileSync(jobPath, "utf8"));
const took = performance.now() - start;
assert.equal(answer.problems, undefined, JSON.stringify(answer.problems));
assert.equal(answer.faults, 0);
assert.ok(answer.tally.met > 0);
if (resultPath) {
  const [job] = JSON.parse(readFileSync(resultPath, "utf8")).jobs;
  assert.deepEqual(answer.tally, job.tally, "the module and the command count the same");
}
const broken = inspect("format = 1\n[site]\nname = \"x\n");
assert.ok(broken.problems.length > 0, "a broken file is told of");
console.log(`${answer.job}: ${JSON.stringify(answer.tally)}, ${took.toFixed(0)} ms, no imports`);
