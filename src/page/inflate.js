// Gzip undone (RFC 1951, RFC 1952), for browsers without DecompressionStream. Slow and small.
'use strict';
function inflateGzip(data) {
  let at = 10, bits = 0, have = 0;
  const flags = data[3];
  if (data[0] !== 0x1f || data[1] !== 0x8b) throw new Error('no gzip data');
  if (flags & 4) at += 2 + data[at] + 256 * data[at + 1];
  for (const flag of [8, 16]) if (flags & flag) { while (data[at++]); }
  if (flags & 2) at += 2;
  const size = new DataView(data.buffer, data.byteOffset).getUint32(data.length - 4, true);
  const out = new Uint8Array(size);
  let done = 0;
  const take = (n) => {
    while (have < n) { bits |= data[at++] << have; have += 8; }
    const value = bits & ((1 << n) - 1);
    bits >>>= n;
    have -= n;
    return value;
  };
  const codeOf = (lengths) => { // canonical Huffman code: how many of each length, symbols in order
    const counts = new Uint16Array(16), starts = new Uint16Array(16), symbols = new Uint16Array(lengths.length);
    for (const n of lengths) counts[n]++;
    counts[0] = 0;
    for (let n = 1; n < 16; n++) starts[n] = starts[n - 1] + counts[n - 1];
    lengths.forEach((n, symbol) => { if (n) symbols[starts[n]++] = symbol; });
    return {counts, symbols};
  };
  const symbolOf = ({counts, symbols}) => {
    for (let n = 1, code = 0, first = 0, index = 0; n < 16; n++) {
      code |= take(1);
      if (code - counts[n] < first) return symbols[index + code - first];
      index += counts[n];
      first = (first + counts[n]) << 1;
      code <<= 1;
    }
    throw new Error('damaged gzip data');
  };
  const LENGTH = [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258];
  const LENGTH_BITS = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0];
  const BACK = [1, 2, 3, 4, 5, 7, 9, 13, 17, 25, 33, 49, 65, 97, 129, 193, 257, 385, 513, 769, 1025, 1537, 2049, 3073, 4097, 6145,
    8193, 12289, 16385, 24577];
  const ORDER = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
  for (let last = 0; !last;) {
    last = take(1);
    const kind = take(2);
    if (kind === 0) {
      bits = have = 0;
      const n = data[at] + 256 * data[at + 1];
      out.set(data.subarray(at + 4, at + 4 + n), done);
      at += 4 + n;
      done += n;
      continue;
    }
    if (kind === 3) throw new Error('damaged gzip data');
    let literals, backs;
    if (kind === 1) {
      literals = codeOf(Array.from({length: 288}, (_, i) => i < 144 ? 8 : i < 256 ? 9 : i < 280 ? 7 : 8));
      backs = codeOf(new Array(30).fill(5));
    } else {
      const literalCount = take(5) + 257, backCount = take(5) + 1, orderCount = take(4) + 4, short = new Array(19).fill(0);
      for (let i = 0; i < orderCount; i++) short[ORDER[i]] = take(3);
      const shortCode = codeOf(short), lengths = [];
      while (lengths.length < literalCount + backCount) {
        const symbol = symbolOf(shortCode);
        if (symbol < 16) { lengths.push(symbol); continue; }
        const [value, n] = symbol === 16 ? [lengths[lengths.length - 1], 3 + take(2)] : [0, symbol === 17 ? 3 + take(3) : 11 + take(7)];
        for (let i = 0; i < n; i++) lengths.push(value);
      }
      literals = codeOf(lengths.slice(0, literalCount));
      backs = codeOf(lengths.slice(literalCount));
    }
    for (;;) {
      const symbol = symbolOf(literals);
      if (symbol === 256) break;
      if (symbol < 256) { out[done++] = symbol; continue; }
      const n = LENGTH[symbol - 257] + take(LENGTH_BITS[symbol - 257]), far = symbolOf(backs);
      const from = done - BACK[far] - take(far < 2 ? 0 : (far >> 1) - 1);
      for (let i = 0; i < n; i++) out[done++] = out[from + i];
    }
  }
  return out;
}
