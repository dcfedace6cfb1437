// Photos: made small on this phone, without anything that a camera writes into
// them, and kept beside the entries until the server has them. They lie among
// the kept things and not in a store of their own: a new store would wait for
// every open page of an older Deck to be closed.

import { dropKept, keep, kept, keptKeys } from './db.js';
import { uuid7 } from './fact.js';

const longest = 1600; // px of the long side
const quality = 0.8;
const forgotten = 7 * 24 * 3600_000; // a photo that no entry and no draft names any more

const keyOf = (id) => `photo ${id}`;

/** SHA-256 in hexadecimal digits; '' where the page is not a secure one. */
async function digestOf(bytes) {
  if (!crypto.subtle) return '';
  const sum = new Uint8Array(await crypto.subtle.digest('SHA-256', bytes));
  return [...sum].map((b) => b.toString(16).padStart(2, '0')).join('');
}

/** A picture as a JPEG of at most 1600 px; what stood beside the picture is gone. */
async function drawn(file) {
  const image = await createImageBitmap(file).catch(() => { throw new Error('This file is no picture that can be read. Take a JPEG or a PNG.'); });
  const scale = Math.min(1, longest / Math.max(image.width, image.height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.max(1, Math.round(image.width * scale));
  canvas.height = Math.max(1, Math.round(image.height * scale));
  const on = canvas.getContext('2d');
  on.fillStyle = 'white'; // a JPEG can't be seen through
  on.fillRect(0, 0, canvas.width, canvas.height);
  on.drawImage(image, 0, 0, canvas.width, canvas.height);
  image.close();
  const blob = await new Promise((done) => { canvas.toBlob(done, 'image/jpeg', quality); });
  if (!blob) throw new Error('This phone could not make the picture smaller. Take it anew.');
  return blob.arrayBuffer();
}

/** Keeps the bytes of a photo and reads them back; only then is it true that they are kept. */
async function keepBytes(id, bytes) {
  const digest = await digestOf(bytes);
  await keep(keyOf(id), { bytes, digest, at: Date.now() });
  const back = await photoOf(id);
  if (back?.bytes.byteLength !== bytes.byteLength || (await digestOf(back.bytes)) !== digest) throw new Error('the phone gave back another photo than was kept');
}

/** Takes a picture in and gives the id that it is kept under. */
export async function takePhoto(file) {
  const bytes = await drawn(file);
  const id = uuid7();
  await keepBytes(id, bytes);
  return id;
}

/** {bytes, digest, at} of a photo, or undefined. */
export const photoOf = (id) => kept(keyOf(id));

export async function dropPhotos(ids) {
  for (const id of ids) await dropKept(keyOf(id));
}

/** Drops what nobody names any more; a draft of another page may name it for a while. */
export async function sweepPhotos(named) {
  for (const key of await keptKeys('photo ')) {
    const id = key.slice('photo '.length);
    if (!named.has(id) && (await photoOf(id))?.at < Date.now() - forgotten) await dropPhotos([id]);
  }
}

/** A photo as text, for a file of entries. */
export async function photoToText(id) {
  const photo = await photoOf(id);
  if (!photo) return undefined;
  let text = '';
  for (const b of new Uint8Array(photo.bytes)) text += String.fromCharCode(b);
  return { digest: photo.digest, base64: btoa(text) };
}

/** Takes a photo from a file of entries in. */
export async function photoFromText(id, { digest, base64 }) {
  const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0)).buffer;
  const own = await digestOf(bytes);
  if (digest && own && own !== digest) throw new Error('A photo in that file is damaged. Save the file anew on the phone that it comes from.');
  await keepBytes(id, bytes);
}

/** Draws a kept photo into a canvas, as large as the canvas is. */
export async function showPhoto(id, canvas) {
  const photo = await photoOf(id);
  if (!photo) return;
  const image = await createImageBitmap(new Blob([photo.bytes], { type: 'image/jpeg' }));
  const scale = Math.max(canvas.width / image.width, canvas.height / image.height);
  const [w, h] = [image.width * scale, image.height * scale];
  canvas.getContext('2d').drawImage(image, (canvas.width - w) / 2, (canvas.height - h) / 2, w, h);
  image.close();
}
