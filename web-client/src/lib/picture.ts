// A photo made small enough to send from a roof: upright, at most so large, JPEG.
// Belongs here: what the browser does before sending. Does not belong here: what the server
// makes of it, which does not trust any of this.

/** Longer side of what is sent; the server keeps no more. */
const SIDE_PX = 1_600;
const QUALITY = 0.84;
/** Base64 letters made at once; a whole photo would be too many arguments. */
const CHUNK = 0x8000;

/** The file as base64, made smaller; throws in words for the sender. */
export async function pictureRead(file: Blob): Promise<string> {
  let bitmap: ImageBitmap;
  try {
    bitmap = await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch {
    throw new Error('This device cannot read that as a picture. Take a photo, or choose a JPEG, PNG or WebP file.');
  }
  const [width, height] = fitted(bitmap.width, bitmap.height);
  const canvas = document.createElement('canvas');
  canvas.width = width;
  canvas.height = height;
  const context = canvas.getContext('2d');
  if (!context) throw new Error('This browser cannot draw pictures, so it cannot make this one smaller.');
  context.fillStyle = '#fff';
  context.fillRect(0, 0, width, height);
  context.drawImage(bitmap, 0, 0, width, height);
  bitmap.close();
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, 'image/jpeg', QUALITY));
  if (!blob) throw new Error('This picture could not be made smaller. Try another.');
  return base64(new Uint8Array(await blob.arrayBuffer()));
}

/** The size that fits, never larger than it was. */
export function fitted(width: number, height: number): [number, number] {
  const scale = Math.min(1, SIDE_PX / Math.max(width, height));
  return [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
}

export function base64(bytes: Uint8Array): string {
  let text = '';
  for (let at = 0; at < bytes.length; at += CHUNK) text += String.fromCharCode(...bytes.subarray(at, at + CHUNK));
  return btoa(text);
}
