// Handing photos to the server: before a fact goes out, so that it can name
// them. The server makes each picture anew, and the digest that counts is its own.

import { photoOf } from './photo.js';

const patience = 120_000; // a photo is a hundred times as large as its entry

/** Answers after which a person must look; 404 and 405 are of a server that takes no photos. */
const refusals = new Set([400, 403, 404, 405, 409, 413, 415, 422]);

/** The photos of an entry that the server has not answered for. */
export const photosLeft = (e) => (e.photos ?? []).filter((p) => !p.digest);

/** An entry whose finding names the photo that the server took. */
export function withDigest(e, photo, digest) {
  const findings = e.fact.data.findings.map((f, i) => (i === photo.at ? { ...f, photo: digest } : f));
  return { ...e, fact: { ...e.fact, data: { ...e.fact.data, findings } }, photos: e.photos.map((p) => (p.id === photo.id ? { ...p, digest } : p)) };
}

/** Hands one photo over: {digest}, {problem} where a person must look, or {trouble}. */
export async function postPhoto(id, facility, device) {
  const photo = await photoOf(id);
  if (!photo) return { problem: { status: 0, title: 'The photo is not on this phone any more', detail: 'Send the entry without it.' } };
  try {
    const res = await fetch(`/api/v1/photos?facility=${encodeURIComponent(facility)}`, {
      method: 'POST',
      headers: { 'Content-Type': 'image/jpeg', 'Haulout-Device': device },
      body: photo.bytes,
      redirect: 'error',
      signal: AbortSignal.timeout(patience),
    });
    const body = await res.json().catch(() => ({}));
    const digest = /^(?:sha256:)?([0-9a-f]{64})$/.exec(body.digest ?? '')?.[1]; // a finding names it by its digits
    if (res.ok && digest) return { digest };
    if (refusals.has(res.status)) return { problem: { status: res.status, title: 'The server does not take the photo', detail: body.detail ?? body.title ?? `It answered ${res.status}.` } };
    return { trouble: res.status === 401 ? 'sign-in' : body.title || `The server answered ${res.status} to a photo` };
  } catch {
    return { trouble: 'offline' };
  }
}
