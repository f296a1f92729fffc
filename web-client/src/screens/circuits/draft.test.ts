import { describe, expect, it } from 'vitest';
import { linesOf, nameIn, renamed, spanOfLine } from './draft';

describe('a circuit file being written', () => {
  const text = 'format = 1\nname = "plug"\ntitle = "A plug"\n';

  it('says its name and takes another, and nothing else in it moves', () => {
    expect(nameIn(text)).toBe('plug');
    expect(renamed(text, 'plug-ours')).toBe('format = 1\nname = "plug-ours"\ntitle = "A plug"\n');
    expect(nameIn('title = "name = x"')).toBe('');
  });

  it('has its problems at their lines', () => {
    expect(linesOf([{ pointer: '/text', says: 'Line 12: no point "HX".' }, { pointer: '/text', says: 'No parts.' }])).toEqual([
      { line: 12, says: 'no point "HX".' },
      { line: null, says: 'No parts.' },
    ]);
  });

  it('knows where a line is, also past its end', () => {
    expect(text.slice(...spanOfLine(text, 2))).toBe('name = "plug"');
    expect(spanOfLine(text, 99)[0]).toBeGreaterThan(0);
  });
});
