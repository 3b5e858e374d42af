// bytesOf reads what signs.go writes: 79 bytes in 40 signs, and first how many bytes there are.
function bytesOf(text) {
	const bytes = new Uint8Array(text.length / 40 * 79);
	let high = 0, low = text.length / 40 * 24, bits = 0, have = 0;
	for (let i = 0; i < text.length; high += 3) {
		let n = 0;
		for (let k = 1; k <= 29 ** 4; k *= 29) {
			const c = text.charCodeAt(i++), digit = c >> 11;
			n += (digit > 27 ? digit - 2 : digit - 1) * k;
			bits = bits << 11 | c & 2047;
			for (have += 11; have >= 8; have -= 8) { bytes[low++] = bits >> have - 8; }
		}
		bytes[high] = n;
		bytes[high + 1] = n >> 8;
		bytes[high + 2] = n >> 16;
	}
	return bytes.subarray(4, 4 + new DataView(bytes.buffer).getUint32(0, true));
}

// unpacked returns what zip packs: not by way of a Blob, which WebKit does not read in a page from a disk.
function unpacked(text) {
	const stream = new DecompressionStream("gzip"), writer = stream.writable.getWriter();
	writer.write(bytesOf(text));
	writer.close();
	return new Response(stream.readable);
}
