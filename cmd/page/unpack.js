// bytesOf reads what squeeze.go writes: 13 bits in 2 signs, and first how many bytes there are.
function bytesOf(text) {
	const value = new Int16Array(128).fill(-1);
	let sign = 0;
	for (let c = 33; c < 127; c++) { if (!"<>&".includes(String.fromCharCode(c))) { value[c] = sign++; } }
	const bytes = new Uint8Array(Math.ceil(text.length * 13 / 16) + 2);
	let n = 0, bits = 0, have = 0, high = -1;
	for (let i = 0; i < text.length; i++) {
		const v = value[text.charCodeAt(i)];
		if (v < 0) { continue; }
		if (high < 0) { high = v; continue; }
		bits = (bits << 13 | high * sign + v) & 0xfffff;
		high = -1;
		for (have += 13; have >= 8; have -= 8) { bytes[n++] = bits >> have - 8; }
	}
	return bytes.subarray(4, 4 + new DataView(bytes.buffer).getUint32(0, true));
}

// How an instruction goes on behind its code, as in squeeze.go.
const [alone, number, memory, block, end, table, two, bytes4, bytes8, extended] = Array(10).keys();
const kinds = new Uint8Array(256).fill(memory, 0x28, 0x3f), alignments = [..."23230011001122232301012"].map(Number), zeros = { 10: 2, 11: 1 };
for (const code of [0x0c, 0x0d, 0x10, 0x20, 0x21, 0x22, 0x23, 0x24, 0x3f, 0x40, 0x41, 0x42]) { kinds[code] = number; }
for (const [code, kind] of [[2, block], [3, block], [4, block], [0x0b, end], [0x0e, table], [0x11, two], [0x43, bytes4], [0x44, bytes8], [0xfc, extended]]) { kinds[code] = kind; }

// unsqueeze puts the instructions of a program back in order.
function unsqueeze(packed) {
	const words = new DataView(packed.buffer, packed.byteOffset);
	let at = 0, o = 0;
	const word = () => words.getUint32((at += 4) - 4, true);
	const size = word(), functions = word(), before = word(), after = word(), count = word();
	const from = new Int32Array(2 + 3 * 65536), out = new Uint8Array(before + size + after + 16);
	let place = at + 8 * count + before + after;
	for (let i = 0; i < count; i++) { from[word()] = place; place += word(); }
	const write = n => { for (; n > 127; n >>>= 7) { out[o++] = n & 127 | 128; } out[o++] = n; };
	const leb = (to, second, third) => { // copies a number and returns it
		let c = out[o++] = packed[from[to]++], n = c & 127;
		for (let shift = 7; c > 127; shift += 7) { c = out[o++] = packed[from[shift === 7 ? second : third]++]; n |= (c & 127) << shift; }
		return n;
	};
	const rest = (kind, to) => { // what is rare
		const next = () => leb(to, to + 1, to + 2);
		if (kind === two) { next(); next(); }
		if (kind === table) { for (let n = next(); n >= 0; n--) { next(); } }
		if (kind === extended) { const n = zeros[next()] ?? 0; o += n; }
		for (let n = kind === bytes4 ? 4 : kind === bytes8 ? 8 : 0; n > 0; n--) { out[o++] = packed[from[to]++]; }
	};
	out.set(packed.subarray(at, at + before));
	o = before;
	out[o++] = 10;
	write(size);
	write(functions);
	for (let f = 0; f < functions; f++) {
		const start = o;
		o += 5; // room for the size
		for (let n = leb(1, 1, 1); n > 0; n--) { leb(1, 1, 1); out[o++] = packed[from[1]++]; }
		o = instructions(packed, from, out, o, (kind, to, at) => { o = at; rest(kind, to); return o; });
		const length = o - start - 5;
		o = start;
		write(length);
		out.copyWithin(o, start + 5, start + 5 + length);
		o += length;
	}
	out.set(packed.subarray(at + before, at + before + after), o);
	return out.subarray(0, o + after);
}

// instructions writes those of one function at a place, and returns where they end. It is all that takes time.
function instructions(packed, from, out, o, rest) {
	let c = from[0], last = 0;
	for (let depth = 0; depth >= 0;) {
		const code = packed[c++], to = 2 + 3 * (code << 8 | last), kind = kinds[code];
		out[o++] = last = code;
		if (kind === number || kind === memory) {
			if (kind === memory) { out[o++] = alignments[code - 0x28]; }
			let b = out[o++] = packed[from[to]++];
			if (b > 127) {
				b = out[o++] = packed[from[to + 1]++];
				while (b > 127) { b = out[o++] = packed[from[to + 2]++]; }
			}
		} else if (kind === block) {
			depth++;
			out[o++] = packed[from[to]++];
		} else if (kind === end) { depth--; } else if (kind !== alone) { o = rest(kind, to, o); }
	}
	from[0] = c;
	return o;
}
