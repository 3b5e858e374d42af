const say = message => self.postMessage(message);

async function begin(packed, compiled) {
	const go = new Go(), ready = new Promise(done => { globalThis.cardtellReady = done; });
	go.env = { GOGC: "400", GOMEMLIMIT: "256MiB" }; // fewer collections while the tables are made, within what a phone has
	let program = compiled;
	if (!program) {
		say({ progress: "unpacking" });
		program = await WebAssembly.compile(unsqueeze(new Uint8Array(await unpacked(packed).arrayBuffer())));
	}
	say({ progress: "starting" });
	go.run(await WebAssembly.instantiate(program, go.importObject)).then(() => say({ failed: "the program ended" }));
	await ready;
	say({ ready: true, program });
}

// ask runs one command line. What it writes to files comes back with the answer, and is forgotten here.
async function ask({ id, args, stdin, given, columns }) {
	files.clear();
	for (const [name, text] of Object.entries(given)) {
		files.set(clean(name), { ...newFile(), data: typeof text === "string" ? new TextEncoder().encode(text) : text });
	}
	const before = new Set([...files.values()].map(file => file.ino));
	const answer = await globalThis.cardtell(args, stdin, columns);
	const written = {};
	for (const [name, file] of files) {
		if (!before.has(file.ino)) { written[name.slice(1)] = file.data; }
	}
	say({ id, ...answer, written });
}

let last = Promise.resolve();
self.onmessage = ({ data }) => {
	last = last.then(() => data.begin ? begin(data.packed, data.program) : ask(data)).catch(error => say({ failed: String(error) }));
};
