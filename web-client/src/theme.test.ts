// The theme promises: text holds 7:1 on every surface it is used on, marks hold 3:1.
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';

const css = readFileSync('src/theme.css', 'utf8');
const sunlight = css.slice(css.indexOf("[data-theme='sunlight']"));

function colour(name: string, theme: 'light' | 'dark' | 'sunlight'): string {
  const own = theme === 'sunlight' ? new RegExp(`--${name}: (#[0-9a-f]{6});`).exec(sunlight)?.[1] : undefined;
  const both = new RegExp(`--${name}: light-dark\\((#[0-9a-f]{6}), (#[0-9a-f]{6})\\)`).exec(css);
  const found = own ?? (theme === 'dark' ? both?.[2] : both?.[1]);
  if (!found) throw new Error(`no --${name} in ${theme}`);
  return found;
}

function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const part = parseInt(hex.slice(i, i + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  }) as [number, number, number];
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

function contrast(a: string, b: string): number {
  const [high, low] = [luminance(a), luminance(b)].sort((x, y) => y - x) as [number, number];
  return (high + 0.05) / (low + 0.05);
}

describe.each(['light', 'dark', 'sunlight'] as const)('%s', (theme) => {
  it.each([
    ['ink', 'paper'], ['ink', 'sheet'], ['ink', 'act-tint'], ['ink', 'suspect-tint'], ['ink-soft', 'paper'], ['ink-soft', 'sheet'], ['ink-soft', 'act-tint'],
    ['act', 'paper'], ['act', 'sheet'], ['on-act', 'act'], ['suspect', 'sheet'], ['suspect', 'paper'], ['sound', 'sheet'],
  ])('text %s on %s holds 7:1', (text, surface) => {
    expect(contrast(colour(text, theme), colour(surface, theme))).toBeGreaterThanOrEqual(7);
  });
  it.each([['line-strong', 'sheet'], ['line-strong', 'paper'], ['focus', 'sheet'], ['focus', 'paper']])('mark %s on %s holds 3:1', (mark, surface) => {
    expect(contrast(colour(mark, theme), colour(surface, theme))).toBeGreaterThanOrEqual(3);
  });
});
