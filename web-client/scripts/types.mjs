// Writes src/lib/api-types.ts from the committed OpenAPI document; with --check it only
// compares, and fails when the committed types are stale.
// Belongs here: generation. Does not belong here: hand-written shapes (src/lib/wire.ts).
import { readFileSync, writeFileSync } from 'node:fs';
import openapiTS, { astToString } from 'openapi-typescript';

const source = new URL('../../services/http/openapi.json', import.meta.url);
const target = new URL('../src/lib/api-types.ts', import.meta.url);
const head = `// Generated from services/http/openapi.json by \`npm run types\`; do not edit by hand.\n// Belongs here: nothing but what the generator writes.\n\n`;
const text = head + astToString(await openapiTS(source));

if (process.argv.includes('--check')) {
  let committed = '';
  try {
    committed = readFileSync(target, 'utf8');
  } catch {
    // A missing file is as stale as a file can be; the comparison below says so.
  }
  if (committed !== text) {
    console.error('src/lib/api-types.ts is stale: run `npm run types` and commit the result.');
    process.exit(1);
  }
} else {
  writeFileSync(target, text);
}
