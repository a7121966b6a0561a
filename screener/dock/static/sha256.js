// SHA-256 (FIPS 180-4). Browsers offer it on https only; a shop's network is often plain http.
const PRIMES = [];
for (let n = 2; PRIMES.length < 64; n += 1) if (PRIMES.every((p) => n % p)) PRIMES.push(n);
const fraction = (x) => ((x - Math.floor(x)) * 2 ** 32) | 0;
const K = Int32Array.from(PRIMES, (p) => fraction(Math.cbrt(p)));
const H = Int32Array.from(PRIMES.slice(0, 8), (p) => fraction(Math.sqrt(p)));

export async function sha256(blob) {
  const bytes = await blob.arrayBuffer();
  if (globalThis.crypto?.subtle) return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)));
  return plainSha256(new Uint8Array(bytes));
}

export function plainSha256(bytes) {
  const state = H.slice();
  const w = new Int32Array(64);
  const end = (bytes.length + 9 + 63) & ~63;
  const tail = new Uint8Array(end - (bytes.length & ~63));
  tail.set(bytes.subarray(bytes.length & ~63));
  tail[bytes.length & 63] = 0x80;
  const view = new DataView(tail.buffer);
  view.setUint32(tail.length - 8, Math.floor(bytes.length / 2 ** 29));
  view.setUint32(tail.length - 4, (bytes.length << 3) >>> 0);
  const body = new DataView(bytes.buffer, bytes.byteOffset);
  for (let at = 0; at + 64 <= bytes.length; at += 64) block(state, w, body, at);
  for (let at = 0; at < tail.length; at += 64) block(state, w, view, at);
  const out = new Uint8Array(32);
  state.forEach((word, n) => new DataView(out.buffer).setInt32(4 * n, word));
  return hex(out);
}

function block(state, w, view, at) {
  for (let n = 0; n < 16; n += 1) w[n] = view.getInt32(at + 4 * n);
  for (let n = 16; n < 64; n += 1) {
    const x = w[n - 15];
    const y = w[n - 2];
    const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
    const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
    w[n] = (w[n - 16] + s0 + w[n - 7] + s1) | 0;
  }
  let [a, b, c, d, e, f, g, h] = state;
  for (let n = 0; n < 64; n += 1) {
    const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
    const t1 = (h + s1 + ((e & f) ^ (~e & g)) + K[n] + w[n]) | 0;
    const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
    const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
    h = g; g = f; f = e; e = (d + t1) | 0; d = c; c = b; b = a; a = (t1 + t2) | 0;
  }
  [a, b, c, d, e, f, g, h].forEach((word, n) => { state[n] = (state[n] + word) | 0; });
}

function hex(bytes) {
  return Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
}
