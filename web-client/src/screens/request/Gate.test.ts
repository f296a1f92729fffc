// The gate promises: what is owed in order, who can give it, and nothing that leads a reader.
import { render, screen, within } from '@testing-library/svelte';
import { expect, it, vi } from 'vitest';
import type { CondemnRequest, Evidence } from '../../lib/wire';
import { shipped, verdictWith } from '../../test/shipped';
import BlindRead from './BlindRead.svelte';
import Decisions from './Decisions.svelte';
import Gate from './Gate.svelte';
import { waitsOn } from './waiting';

const circuit = shipped('compressor-1ph-plug');
const person = (name: string) => ({ id: name, name });

function request(change: Partial<CondemnRequest> = {}): CondemnRequest {
  return {
    id: 'r', job_id: 'j', job_number: 7, unit_label: 'Roof unit', state: 'ready', requester: person('Ines'), claim: { component: 'compressor', part: 'run_winding', mode: 'open' }, hidden: null, asked: [], asks_me: false, ladder: null,
    estimated_cost_cents: 184000, digest: '7f3a91c2', verdict: verdictWith({ outcome: 'isolated' }), judged_at: null, disagreement: false, void_signatures: 0,
    owed: [
      { step: 'evidence', words: 'The evidence is ready to be read', who: [], done: true },
      { step: 'second_read', words: 'A second technician must read it blind and countersign', who: [person('Tom'), person('Sam')], done: false },
      { step: 'approval', words: 'The money must be answered for', who: [], done: false },
    ],
    reads: [], countersignature: null, approval: null, override: null, events: [], may: [], version: 1, stage_words: '', created_at: '2026-11-28T16:00:00Z', changed_at: '2026-11-28T16:00:00Z', ...change,
  };
}

const evidence: Evidence = { job_id: 'j', revision: 1, specs: {}, circuit, readings: [], observations: [], verdict: null, claimless: true, hidden: 'blind_first' };
const handlers = { ondone: vi.fn(), onreload: vi.fn() };

it('shows what is owed in order, with who can give it now', () => {
  render(Gate, { request: request() });
  const steps = screen.getAllByRole('listitem');
  expect(steps).toHaveLength(3);
  expect(steps[0]).toHaveTextContent('Evidence isolates');
  expect(steps[0]).toHaveTextContent('Given');
  expect(steps[1]).toHaveTextContent('Still owed');
  expect(steps[1]).toHaveTextContent('Can be given by Tom or Sam');
  expect(steps[2]).toHaveTextContent('Nobody in this shop may answer for this sum');
});

it('marks the step that is being given', () => {
  render(Gate, { request: request({ state: 'reading' }) });
  expect(screen.getAllByRole('listitem')[1]).toHaveAttribute('aria-current', 'step');
});

it('gives the blind reader readings and a judgement to make, and no claim, verdict or cost', () => {
  const { container } = render(BlindRead, { request: request({ state: 'reading', claim: null, hidden: 'blind_first', verdict: null, digest: null, estimated_cost_cents: null, may: ['commit_read'] }), evidence, ...handlers });
  const judge = screen.getByRole('form', { name: 'Your judgement' });
  expect(within(judge).getByRole('button', { name: /Commit my judgement/ })).toBeEnabled();
  expect(within(judge).getByRole('radio', { name: /cannot tell/ })).toBeInTheDocument();
  expect(container).not.toHaveTextContent('1,840');
  expect(container.querySelector('.hatch')).toBeNull();
});

it('offers only what the server allows', () => {
  render(Decisions, { request: request({ state: 'revealed', may: ['countersign', 'send_back'] }), evidence, ...handlers });
  expect(screen.getByRole('button', { name: 'Countersign' })).toBeInTheDocument();
  expect(screen.getByRole('button', { name: 'Send it back with a test' })).toBeInTheDocument();
  expect(screen.queryByRole('button', { name: 'Approve the cost' })).toBeNull();
});

it('knows whom a request waits on', () => {
  expect(waitsOn(request({ may: ['take', 'stand_aside'] }), 'Tom')).toBe(true);
  expect(waitsOn(request({ state: 'held', may: ['withdraw'] }), 'Ines')).toBe(true);
  expect(waitsOn(request({ state: 'held', may: ['withdraw'] }), 'Tom')).toBe(false);
});
