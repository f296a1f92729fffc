// Writes dist/sw.js: the worker's source behind the list of the files that were just built.
// Belongs here: the list and its version. Does not belong here: what the worker does
// (src/shell-worker.js).
import { createHash } from 'node:crypto';
import { readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Plugin } from 'vite';

const SOURCE = new URL('../src/shell-worker.js', import.meta.url);
const NAME = 'sw.js';
/** Letters of the digest that names a version. */
const VERSION_LETTERS = 12;

export function shellWorker(): Plugin {
  return {
    name: 'shell-worker',
    apply: 'build',
    writeBundle({ dir }) {
      if (!dir) return;
      const source = readFileSync(SOURCE, 'utf8');
      const names = readdirSync(dir, { recursive: true, withFileTypes: true })
        .filter((entry) => entry.isFile() && entry.name !== NAME)
        .map((entry) => join(entry.parentPath, entry.name).slice(dir.length + 1).replaceAll('\\', '/'))
        .sort();
      const digest = createHash('sha256').update(source);
      for (const name of names) digest.update(name).update(readFileSync(join(dir, name)));
      const shell = {
        version: digest.digest('hex').slice(0, VERSION_LETTERS),
        files: names.map((name) => (name === 'index.html' ? '/' : `/${name}`)),
      };
      writeFileSync(join(dir, NAME), `const SHELL = ${JSON.stringify(shell)};\n${source}`);
    },
  };
}
