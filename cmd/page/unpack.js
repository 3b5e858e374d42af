// How an instruction goes on behind its code, and the codes of our own, as in squeeze.go.
const [alone, number, memory, branch, spot, block, end, table, two, bytes4, bytes8, extended] = Array(12).keys(), entry = 0xfd, jump = 0xfe, goesOn = 0xff;
const kinds = new Uint8Array(256).fill(memory, 0x28, 0x3f), alignments = [..."23230011001122232301012"].map(Number), zeros = { 10: 2, 11: 1 };
for (const code of [0x10, 0x20, 0x21, 0x22, 0x23, 0x24, 0x3f, 0x40, 0x41, 0x42]) { kinds[code] = number; }
for (const [code, kind] of [[0x0c, branch], [0x0d, branch], [jump, spot], [goesOn, spot], [2, block], [3, block], [4, block], [0x0b, end], [0x0e, table], [0x11, two], [0x43, bytes4], [0x44, bytes8], [0xfc, extended]]) { kinds[code] = kind; }
const firstFunction = 0x1000;
const placeOf = (code, before, behind) => 3 * ((code & 127) << 14 | (before & 127) << 7 | behind & 127);

// numberIn reads a number out of its streams, and signed is one whose sign is in its last bit.
function numberIn(packed, from, to) {
	let b = packed[from[to]++], n = b & 127;
	for (let shift = 7; b > 127; shift += 7) {
		b = packed[from[shift === 7 ? to + 1 : to + 2]++];
		n |= (b & 127) << shift;
	}
	return n;
}
const signed = n => n >>> 1 ^ -(n & 1);

// put writes a number, of which the last byte is at most most, and returns where it ends.
function put(out, o, n, most = 127) {
	for (; n > most; n >>>= 7) { out[o++] = n & 127 | 128; }
	out[o++] = n;
	return o;
}

// unsqueeze puts a program back in order.
function unsqueeze(packed) {
	let at = 0;
	const word = () => {
		let n = 0, b = 128;
		for (let shift = 0; b > 127; shift += 7) { n |= ((b = packed[at++]) & 127) << shift; }
		return n;
	};
	const [size, functions, listed, count, pairs, before, after, memory, rows, rowCount, buckets, bucketCount, streams] = Array.from({ length: 13 }, word);
	const from = new Int32Array(placeOf(-1, -1, -1) + 3), places = [];
	for (let i = 0, place = 0; i < streams; i++) { places.push(place += word()); }
	const lengths = places.map(word);
	places.reduce((start, place, i) => (from[place] = start) + lengths[i], at + pairs + before + after);
	const codes = apart(packed.subarray(at, at += pairs), packed.subarray(from[0]), count);
	const out = new Uint8Array(before + 3 * functions + size + after + 16);
	out.set(packed.subarray(at, at += before));
	let o = before;
	for (let i = 0; listed && i < functions; i++) { o = put(out, o, listed + i); }
	out[o++] = 10;
	o = put(out, put(out, o, size), functions);
	from[0] = 0; // where in the codes
	const rest = restOf(packed, from, out);
	for (let f = 0; f < functions; f++) {
		const start = o;
		o = rest.locals(start + 5); // room for the size
		o = instructions(packed, from, codes, out, o, firstFunction + f, rest);
		const moved = put(out, start, o - start - 5);
		out.copyWithin(moved, start + 5, o);
		o += moved - start - 5;
	}
	out.set(packed.subarray(at, at + after), o);
	if (rowCount) { rowsOf(out.subarray(o + memory + rows), rowCount); }
	const words = new DataView(out.buffer, o + memory + buckets);
	for (let i = 0; i < bucketCount; i++) { words.setUint32(20 * i, i >> 4, true); }
	return out.subarray(0, o + after);
}

// apart writes the codes for which others stand.
function apart(pairs, short, count) {
	const meaning = Array.from({ length: 256 }, (_, code) => [code]), all = new Uint8Array(count);
	for (let i = 0; i < pairs.length; i += 3) { meaning[pairs[i]] = [...meaning[pairs[i + 1]], ...meaning[pairs[i + 2]]]; }
	for (let i = 0, o = 0; o < count; i++) { for (const code of meaning[short[i]]) { all[o++] = code; } }
	return all;
}

// restOf copies what is rare: the locals of a function, and what follows a code of one of some kinds.
function restOf(packed, from, out) {
	let o = 0;
	const byte = to => out[o++] = packed[from[to]++];
	const copy = to => { // a number
		let n = 0, shift = 0, b;
		do { b = byte(to); n |= (b & 127) << shift; shift += 7; } while (b > 127);
		return n;
	};
	const at = work => (place, to) => { o = place; work(to); return o; };
	return {
		locals: at(() => { for (let n = copy(1); n > 0; n--) { copy(1); byte(1); } }),
		[two]: at(to => { copy(to); copy(to); }),
		[table]: at(to => {
			const n = numberIn(packed, from, to);
			o = put(out, o, n);
			for (let i = 0, last = 0; i <= n; i++) { o = put(out, o, last += signed(numberIn(packed, from, placeOf(entry, 0, 0)))); }
		}),
		[extended]: at(to => { const n = zeros[copy(to)] ?? 0; o += n; }),
		[bytes4]: at(to => { for (let i = 0; i < 4; i++) { byte(to); } }),
		[bytes8]: at(to => { for (let i = 0; i < 8; i++) { byte(to); } }),
	};
}

// instructions writes those of one function at a place, and returns where they end. It is all that takes time.
function instructions(packed, from, codes, out, o, is, rest) {
	let c = from[0], last = 0, at = 0;
	for (let depth = 0; depth >= 0;) {
		const code = codes[c++], to = placeOf(code, last, codes[c]), kind = kinds[code];
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
		} else if (kind === branch) {
			o = put(out, o, depth - numberIn(packed, from, to));
		} else if (kind === spot) {
			const n = at + signed(numberIn(packed, from, to));
			out[o - 1] = code === goesOn ? 0x42 : 0x41;
			o = put(out, o, code === goesOn ? (is << 16) + n : n, 63);
			if (code === goesOn) { at = n; }
		} else if (kind === end) { depth--; } else if (kind !== alone) { o = rest[kind](o, to); }
	}
	from[0] = c;
	return o;
}

// rowsOf puts the descriptions of functions back into rows, and the index before them.
function rowsOf(t, n) {
	const first = 8 * n + 4, columns = t.slice(first), words = new DataView(t.buffer, t.byteOffset);
	const places = new Int32Array(n), lengths = new Uint16Array(n);
	let to = first;
	for (let i = 0; i < n; i++) {
		places[i] = to = to + 7 & ~7;
		to += lengths[i] = 44 + 4 * (columns[28 * n + i] + columns[43 * n + i]);
	}
	t.fill(0, first, to);
	for (let k = 0, p = 0, longest = Math.max(...lengths); k < longest; k++) {
		for (let i = 0; i < n; i++) { if (k < lengths[i]) { t[places[i] + k] = columns[p++]; } }
	}
	for (let i = 0; i < n; i++) {
		words.setUint32(8 * i, words.getUint32(places[i], true), true);
		words.setUint32(8 * i + 4, places[i], true);
	}
}
