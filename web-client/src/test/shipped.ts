// The circuits that the engine ships, read from its own files, and verdicts about them.
// Belongs here: material for tests. Does not belong here: anything the built page contains.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parse } from 'smol-toml';
import type { Circuit, Verdict } from '../lib/wire';

const folder = join(process.cwd(), '../services/engine/circuits');

export const shippedNames = readdirSync(folder).filter((name) => name.endsWith('.toml')).map((name) => name.replace('.toml', ''));

export const shipped = (name: string): Circuit => parse(readFileSync(join(folder, `${name}.toml`), 'utf8')) as unknown as Circuit;

/** A verdict in which nothing is suspect, changed by the test that uses it. */
export const verdictWith = (change: Partial<Verdict>): Verdict => ({
  format: 1, circuit: { name: 'compressor-1ph-plug', title: '', digest: '' }, engine: '0.1.0', evidence_digest: '7f3a91c2', outcome: 'not_isolated', sentence: 'Two parts still explain these readings.', because: [],
  components: [], suspects: [], excluded: [], checks: [], owed: [], retake: [], next_tests: [], nothing_left: false, readings: [],
  considered: {
    hypotheses: 1, singles: 0, doubles: 0, cut_off: 0, unknown_share: 0,
    policy: { isolated_min: 0.95, rival_max: 0.02, leave_one_out_min: 0.8, contradicted_max: 0.02, mistake_rate: 0.02, unknown_rate: 0.01 },
  },
  ...change,
});
