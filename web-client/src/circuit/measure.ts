// How wide a word is on the drawing.
// Belongs here: asking the browser, and a guess on the safe side where it cannot tell. Does
// not belong here: where words go (labels.ts).

/** Size of every word on a drawing, px: the page's smallest text. */
export const TEXT_PX = 16;
/** Weight of a word that must be found at a glance. */
export const BOLD = 650;
/** Width of a letter where nothing can be measured, px. */
const LETTER_PX = 8.9;
const LETTER_BOLD_PX = 10.2;

let canvas: OffscreenCanvasRenderingContext2D | null | undefined;
const known = new Map<string, number>();

export function widthOf(text: string, bold = false): number {
  const key = `${bold ? 'b' : 'n'}${text}`;
  let width = known.get(key);
  if (width === undefined) {
    canvas ??= typeof OffscreenCanvas === 'undefined' ? null : new OffscreenCanvas(1, 1).getContext('2d');
    if (canvas) {
      canvas.font = `${bold ? BOLD : 400} ${TEXT_PX}px ${getComputedStyle(document.documentElement).fontFamily}`;
      width = canvas.measureText(text).width;
    } else width = text.length * (bold ? LETTER_BOLD_PX : LETTER_PX);
    known.set(key, width);
  }
  return width;
}
