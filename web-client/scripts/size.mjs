// Prints the compressed size of what a browser loads first and of each screen loaded later,
// and fails when the first load is over its limit.
// Belongs here: measuring dist. Does not belong here: building it.
import { readFileSync, readdirSync } from 'node:fs';
import { gzipSync } from 'node:zlib';

/** The design's limit for the first load; above it this script fails. */
const FIRST_LOAD_KB_MAX = 150;

const dist = new URL('../dist/', import.meta.url);
const kb = (path) => gzipSync(readFileSync(new URL(path, dist)), { level: 9 }).length / 1000;
const html = readFileSync(new URL('index.html', dist), 'utf8');
const first = ['index.html', ...[...html.matchAll(/(?:src|href)="\/(assets\/[^"]+)"/g)].map((hit) => hit[1])];
let total = 0;
for (const path of first) {
  total += kb(path);
  console.log(`first  ${kb(path).toFixed(1).padStart(6)} kB  ${path}`);
}
for (const name of readdirSync(new URL('assets/', dist)).sort()) {
  if (!first.includes(`assets/${name}`)) console.log(`later  ${kb(`assets/${name}`).toFixed(1).padStart(6)} kB  assets/${name}`);
}
console.log(`First load: ${total.toFixed(1)} kB compressed (limit ${FIRST_LOAD_KB_MAX}).`);
if (total > FIRST_LOAD_KB_MAX) process.exit(1);
