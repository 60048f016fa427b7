// Opens packed data (RFC 1951). What browsers bring for it is younger than many a tablet in use.
function inflate(source, size) {
  const out = new Uint8Array(size);
  let place = 0;
  let at = 0;
  let kept = 0;
  let have = 0;
  function bits(need) {
    while (have < need) {
      kept |= source[at] << have;
      at += 1;
      have += 8;
    }
    const value = kept & ((1 << need) - 1);
    kept >>>= need;
    have -= need;
    return value;
  }
  // Canonical Huffman codes (section 3.2.2): how many of each length, and their symbols in order.
  function tree(lengths) {
    const count = new Uint16Array(16);
    const next = new Uint16Array(16);
    const symbol = new Uint16Array(lengths.length);
    lengths.forEach((length) => { count[length] += 1; });
    count[0] = 0;
    for (let n = 1; n < 15; n += 1) next[n + 1] = next[n] + count[n];
    lengths.forEach((length, value) => {
      if (length) {
        symbol[next[length]] = value;
        next[length] += 1;
      }
    });
    return { count, symbol };
  }
  function decode({ count, symbol }) {
    let code = 0;
    let first = 0;
    let index = 0;
    for (let length = 1; length < 16; length += 1) {
      code |= bits(1);
      if (code - first < count[length]) return symbol[index + code - first];
      index += count[length];
      first = (first + count[length]) << 1;
      code <<= 1;
    }
    throw new Error("the data of this page is damaged");
  }
  // Lengths and distances of section 3.2.5: base value and extra bits.
  const lengthBase = [3, 4, 5, 6, 7, 8, 9, 10, 11, 13, 15, 17, 19, 23, 27, 31, 35, 43, 51, 59, 67, 83, 99, 115, 131, 163, 195, 227, 258];
  const lengthBits = [0, 0, 0, 0, 0, 0, 0, 0, 1, 1, 1, 1, 2, 2, 2, 2, 3, 3, 3, 3, 4, 4, 4, 4, 5, 5, 5, 5, 0];
  const wayBits = (code) => Math.max(0, (code >> 1) - 1);
  const wayBase = (code) => (code < 2 ? code + 1 : ((2 + (code & 1)) << wayBits(code)) + 1);
  function block(letters, ways) {
    for (let value = decode(letters); value !== 256; value = decode(letters)) {
      if (value < 256) {
        out[place] = value;
        place += 1;
      } else {
        const length = lengthBase[value - 257] + bits(lengthBits[value - 257]);
        const code = decode(ways);
        const from = place - wayBase(code) - bits(wayBits(code));
        for (let n = 0; n < length; n += 1) out[place + n] = out[from + n];
        place += length;
      }
    }
  }
  function plain() {
    kept = 0;
    have = 0;
    const length = source[at] | (source[at + 1] << 8);
    out.set(source.subarray(at + 4, at + 4 + length), place);
    at += 4 + length;
    place += length;
  }
  function fixed() {
    const letters = Array.from({ length: 288 }, (_, n) => (n < 144 ? 8 : n < 256 ? 9 : n < 280 ? 7 : 8));
    block(tree(letters), tree(new Array(30).fill(5)));
  }
  function dynamic() {
    const [letters, ways, codes] = [bits(5) + 257, bits(5) + 1, bits(4) + 4];
    const order = [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15];
    const short = new Array(19).fill(0);
    for (let n = 0; n < codes; n += 1) short[order[n]] = bits(3);
    const code = tree(short);
    const lengths = [];
    while (lengths.length < letters + ways) {
      const value = decode(code);
      if (value < 16) lengths.push(value);
      else {
        const again = value === 16 ? lengths[lengths.length - 1] : 0;
        const times = value === 16 ? 3 + bits(2) : value === 17 ? 3 + bits(3) : 11 + bits(7);
        for (let n = 0; n < times; n += 1) lengths.push(again);
      }
    }
    block(tree(lengths.slice(0, letters)), tree(lengths.slice(letters)));
  }
  for (let last = 0; !last;) {
    last = bits(1);
    [plain, fixed, dynamic][bits(2)]();
  }
  return out;
}
