// UUID version 7 (RFC 9562 section 5.7): 48 bits of Unix milliseconds, then random bits.

/** @returns {string} a fresh id, 36 characters */
export function uuid7(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 5, rest = now; i >= 0; i--, rest = Math.floor(rest / 256)) bytes[i] = rest % 256;
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
