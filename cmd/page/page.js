"use strict";
// The page asks the program in its worker, in the program's own command lines, and shows what it answers.

const $ = id => document.getElementById(id);

// h makes an element. A text in it is never read as HTML.
function h(tag, attributes, ...inside) {
	const element = document.createElement(tag);
	for (const [name, value] of Object.entries(attributes ?? {})) {
		if (typeof value === "function") { element.addEventListener(name, value); } else if (value !== false) { element.setAttribute(name, value); }
	}
	element.append(...inside.flat().filter(part => part !== null && part !== undefined && part !== "" && part !== false));
	return element;
}

// The program: one question at a time, in the order in which they were asked.
const program = { script: "", worker: null, compiled: null, waiting: new Map(), next: 1 };

function startProgram() {
	const url = URL.createObjectURL(new Blob([program.script], { type: "text/javascript" }));
	program.worker = new Worker(url);
	URL.revokeObjectURL(url);
	program.ready = new Promise((done, fail) => {
		program.worker.onerror = event => fail(new Error(event.message || "the worker did not start"));
		program.worker.onmessage = ({ data }) => {
			if (data.progress) { say(`Starting: ${data.progress}…`); }
			if (data.failed) { fail(new Error(data.failed)); say(`The program stopped: ${data.failed}. Load the page again.`, true); }
			if (data.ready) { program.compiled = data.program; done(); }
			if (data.id) { program.waiting.get(data.id).done(data); program.waiting.delete(data.id); }
		};
	});
	program.worker.postMessage({ begin: true, packed: program.compiled ? "" : $("program").textContent, program: program.compiled });
}

async function ask(args, given = {}, width = columns()) {
	await program.ready;
	const id = program.next++;
	return new Promise((done, fail) => {
		program.waiting.set(id, { done, fail });
		program.worker.postMessage({ id, args, stdin: "", given, columns: width });
	});
}

// stop ends the program where it is, and starts it again.
function stop() {
	program.worker.terminate();
	for (const { fail } of program.waiting.values()) { fail(new Error("Stopped.")); }
	program.waiting.clear();
	startProgram();
}

// columns is how many characters of the program's tables fit.
const columns = () => Math.max(40, Math.min(100, Math.floor(($("answer").clientWidth - 34) / (innerWidth <= 480 ? 7.6 : 8.4))));

function say(text, bad = false) {
	$("state").textContent = text;
	$("state").className = bad ? "alarm" : "soft";
}

// What is open: files by name, and what each is.
const shelf = new Map(); // name to {text, kind}
const names = kind => [...shelf].filter(([, file]) => file.kind === kind).map(([name]) => name);

// kinds are what a text can be. The first one whose sign fits is taken, and the page says why; the user's choice comes before.
const kinds = {
	cards: { name: "cards: what they are, what to type in", show: showCards },
	each: { name: "cards that have nothing to do with each other", show: showEach },
	pairs: { name: "pairs of two numberings: the rule between them", show: showPairs },
	sample: { name: "reads of one unknown format: its layout", show: showSample },
	list: { name: "a list of cardholders", show: showList },
	log: { name: "a log of a controller", show: showLog },
	recording: { name: "a recording of a line", show: showRecording },
	site: { name: "a site file" },
	formats: { name: "formats of your own" },
};

const isRead = side => /^(left:)?\d{1,3}:[0-9a-f]+$|^bits:|^[01 _.]{24,}$/i.test(side.trim());
const lines = text => text.split(/\r?\n/).map(line => line.trim()).filter(line => line && !line.startsWith("#"));

function guess(text, name = "") {
	const all = lines(text), first = all[0] ?? "";
	if (/^\$(date|version|timescale|scope|comment)|\$enddefinitions/m.test(text)) { return ["recording", "it begins as a VCD recording does"]; }
	if (/^\[\[(cards|doors)\]\]/m.test(text)) { return ["site", "it has [[cards]] or [[doors]]"]; }
	if (/^\[\[format\]\]/m.test(text)) { return ["formats", "it has [[format]]"]; }
	if (/"at_s"|"hex"/.test(first)) { return ["recording", "its lines are JSON of a reader bus"]; }
	if (/^#.*rate|^"?(time|seconds|t)\b[^,;\t]*[,;\t].*(d0|d1|ch\d|data)/im.test(text.slice(0, 400)) || /\.vcd$/i.test(name)) { return ["recording", "its columns are those of a recorded line"]; }
	if (/^PK/.test(text) || (all.length > 1 && /[a-z]/i.test(first) && /[,;\t|]/.test(first) && !/[=:]/.test(first))) {
		return /\d{4}-\d\d-\d\d.\d\d:\d\d|\d\d[.:]\d\d[.:]\d\d/.test(all[1] ?? "") && /time|date|event|door/i.test(first) ? ["log", "its lines have times and a first line with names"] : ["list", "its first line names columns"];
	}
	const pairs = all.filter(line => line.includes("=")).map(line => line.split("="));
	if (all.length > 1 && pairs.length === all.length && !pairs.some(sides => sides.some(isRead))) { return ["pairs", "every line is A=B, and no side is a read"]; }
	return ["cards", all.length > 1 ? `${all.length} lines, a card each` : "one line, one card"];
}

// Files.
async function openFiles(list) {
	for (const file of list) {
		const bytes = new Uint8Array(await file.arrayBuffer()), text = new TextDecoder().decode(bytes.subarray(0, 1 << 20));
		const [kind] = guess(text, file.name);
		if (kind === "site") { setSite(new TextDecoder().decode(bytes)); continue; }
		if (kind === "cards" || kind === "pairs") { $("what").value = text; continue; }
		shelf.set(file.name, { text: bytes, kind });
	}
	showShelf();
	refresh();
}

function showShelf() {
	$("shelf").replaceChildren(...[...shelf].map(([name, file]) => h("li", {}, h("span", {}, `${name}: ${kinds[file.kind].name}`),
		h("button", { type: "button", click: () => { shelf.delete(name); showShelf(); refresh(); }, "aria-label": `Put away ${name}` }, "Put away"))));
	$("propose").hidden = names("list").length === 0;
}

// What every question has with it: the site file, and formats of one's own.
function context() {
	const given = Object.fromEntries([...shelf].map(([name, file]) => [name, file.text])), options = [];
	if ($("toml").value.trim() && siteWorks) { given["site.toml"] = $("toml").value; options.push("--site", "site.toml"); }
	for (const name of names("formats")) { options.push("--formats", name); }
	return { given, options };
}

// extra are options that the user wrote for commands about files, such as --column "Card no".
const extra = () => [...$("extra").value.matchAll(/"([^"]*)"|'([^']*)'|(\S+)/g)].map(([, a, b, c]) => a ?? b ?? c);

let asked = 0; // a later question makes the answer to an earlier one void
async function refresh() {
	const turn = ++asked, text = $("what").value;
	for (const button of $("doors").children) { button.setAttribute("aria-pressed", $("form").value === `door:${button.textContent}`); }
	let kind = $("kind").value, why = "you chose so";
	if (kind === "auto") {
		const file = ["log", "list", "recording"].find(k => names(k).length > 0);
		[kind, why] = text.trim() ? guess(text) : [file ?? "cards", file ? "the open file is one" : "nothing is typed yet"];
	}
	$("why").textContent = `${kinds[kind].name}: ${why}`;
	if (kind === "site") { setSite(text); $("what").value = ""; return; }
	if (!text.trim() && shelf.size === 0) { $("answer").replaceChildren(); return; }
	say("Working…");
	const begun = performance.now();
	const late = setTimeout(() => { $("stopping").hidden = false; say("Still working… A long list or many prints take a while."); }, 2000);
	let cards;
	try { cards = await (kinds[kind].show ?? showCards)(text); } catch (error) { cards = [h("p", { class: "alarm" }, String(error.message ?? error))]; }
	clearTimeout(late);
	$("stopping").hidden = true;
	if (turn !== asked) { return; }
	$("answer").replaceChildren(...cards.filter(Boolean));
	$("answer").dataset.turn = turn;
	say(`Answered in ${Math.round(performance.now() - begun)} ms.`);
}

// Parts of answers.
const section = (title, ...inside) => h("section", { class: "card" }, title && h("h2", {}, title), ...inside);
const copyButton = (text, what) => h("button", { type: "button", "aria-label": `Copy ${what ?? text}`, click: event => copy(text, event.currentTarget) }, "Copy");

async function copy(text, button) {
	try { await navigator.clipboard.writeText(text); } catch {
		const field = h("textarea", {}, text);
		document.body.append(field);
		field.select();
		document.execCommand("copy");
		field.remove();
	}
	const before = button.dataset.text ??= button.textContent;
	button.textContent = "Copied";
	setTimeout(() => { button.textContent = before; }, 1500);
}

function save(name, bytes, type = "text/plain") {
	const url = URL.createObjectURL(new Blob([bytes], { type }));
	h("a", { href: url, download: name }).click();
	setTimeout(() => URL.revokeObjectURL(url), 10000);
}

const saveButtons = written => h("p", { class: "row" }, Object.entries(written).sort((a, b) => a[0].length - b[0].length).map(([name, bytes]) => h("button", { type: "button", click: () => save(name, bytes) }, `Save ${name}`)));
const percent = p => p > 0.9995 ? ">99.9 %" : p < 0.0005 ? "<0.1 %" : `${(100 * p).toFixed(1)} %`;
// withTexts is a command line about texts of the user, which may begin as options do.
const withTexts = (command, options, texts) => [command, ...options, ...(texts.some(text => text.startsWith("-")) ? ["--"] : []), ...texts];
const quoted = args => args.map(arg => /^[\w.,:=/+-]+$/.test(arg) ? arg : `'${arg.replaceAll("'", "'\\''")}'`).join(" ");
const commandLine = args => h("p", { class: "soft command" }, "On the command line: ", h("code", {}, `cardtell ${quoted(args)}`));
const notes = (title, all) => all?.length ? [h("h2", {}, title), h("ul", { class: "notes" }, all.map(text => h("li", {}, text)))] : [];
const sure = 0.99; // as convert has it: a result above is given alone

// hangOf is where the text of a line goes on that is too long: at its own indent, behind its dash, or in its last column.
function hangOf(line) {
	const column = [...line.matchAll(/\S {2,}(?=\S)/g)].at(-1);
	return column ? column.index + column[0].length : /^ *(- )?/.exec(line)[0].length;
}

// narrowed takes room from between the columns of a table, which stay below one another.
function narrowed(rows) {
	for (let i = Math.max(...rows.map(row => row.length)); i > 2; i--) {
		if (rows.every(row => !row.slice(i - 3, i).trim())) { rows = rows.map(row => row.slice(0, i - 1) + row.slice(i)); }
	}
	return rows.join("\n");
}

// words shows what the program printed. Where there is less room than its reports take, the lines of one sentence are put
// together again: those that go on where the one before would, which was full.
function words(text, style = "") {
	const full = 74, room = 80, all = [], isRow = line => (line.match(/\S {2,}(?=\S)/g) ?? []).length > 2;
	if (columns() >= room) { return h("pre", { class: style }, text.trimEnd()); }
	for (const line of text.trimEnd().split("\n")) {
		if (isRow(line) || all.at(-1)?.rows && /\S {2,}\S/.test(line)) { // of a table, which can be moved to the side
			if (all.at(-1)?.rows) { all.at(-1).text += `\n${line}`; } else { all.push({ text: line, line, rows: true }); }
			continue;
		}
		const last = all.at(-1), [lead, dash] = /^ *(- )?/.exec(line), first = line.trim().split(" ")[0];
		if (last && first && !dash && lead.length === last.hang && !/\S {2,}\S/.test(line) && last.line.length + 1 + first.length > full) {
			last.text += ` ${line.trim()}`;
			last.line = line;
		} else { all.push({ text: line, line, hang: hangOf(line) }); }
	}
	return h("pre", { class: style }, all.map(({ text, hang, rows }) => {
		if (rows) { return h("div", { class: "rows", tabindex: 0 }, narrowed(text.split("\n"))); }
		const div = h("div", {}, text || " "), indent = Math.min(hang, 12);
		div.style.paddingLeft = `${indent}ch`;
		div.style.textIndent = `-${indent}ch`;
		return div;
	}));
}

// said is an error without the name of the program, which is this page.
const said = err => err.trim().replace(/^cardtell: /, "");

// inWords shows what the program printed, errors first.
function inWords(title, args, answer, extra = []) {
	const { "site.toml": _, ...written } = answer.written;
	const error = answer.code > 1;
	return section(title, error ? h("p", { class: "bad" }, said(answer.err)) : null,
		answer.out && words(answer.out), !error && answer.err && words(answer.err, "soft"),
		...extra, saveButtons(written), commandLine(args));
}

// converted are cards' numbers by convert, which knows what is of the site and what is a misread: all at once, and by halves
// where it has no answer for one.
async function converted(texts, with_) {
	if (texts.length === 0) { return []; }
	const [way, name] = wanted(), one = texts.length === 1;
	const answer = await ask(withTexts("convert", [`--${way === "door" ? "door" : "to"}`, name, "--json", ...with_.options], texts), with_.given);
	if (one && answer.code > 1) { return [{ text: texts[0], values: [], error: said(answer.err) }]; }
	const found = new Map(texts.map(text => [text, []]));
	for (const r of answer.code > 1 ? [] : JSON.parse(answer.out).results) { found.get(one ? texts[0] : r.input)?.push([r.value, r.probability]); }
	if (one || found.size === texts.length && [...found.values()].every(all => all.length)) { return texts.map(text => ({ text, values: together(found.get(text)) })); }
	const half = texts.length >> 1;
	return [...await converted(texts.slice(0, half), with_), ...await converted(texts.slice(half), with_)];
}

// numbers gives each card's number in the form that is wanted: for one card, or at a door, by convert; else by identify, which
// weighs all cards together.
async function numbers(texts, doc, with_) {
	const [way, form] = wanted(), all = [];
	if (texts.length === 1 || way === "door") { return converted(texts, with_); }
	for (const part of doc.populations ?? [doc]) {
		(part.given ?? texts.map((_, i) => i + 1)).forEach((place, i) => { all[place - 1] = told(texts[place - 1], part, i, form); });
	}
	return all;
}

// told is a card's number in a form, by what the cards that it was weighed with can be.
function told(text, part, i, form) {
	const [best] = part.candidates, value = c => c.cards[i]?.fault ? undefined : c.cards[i]?.forms?.[form];
	if (best && value(best)) { return { text, values: together(part.candidates.filter(value).map(c => [value(c), c.probability])) }; }
	return { text, values: [], error: best?.cards[i]?.fault ? "This can be a misread: present the card again." : `The likeliest reading, ${best ? best.format ?? `like ${best.frame}` : "none of these"}, has no ${form}.` };
}

function together(pairs) {
	const sums = new Map();
	for (const [value, p] of pairs) { sums.set(value, (sums.get(value) ?? 0) + p); }
	return [...sums].map(([value, p]) => ({ value, p })).sort((a, b) => b.p - a.p);
}

function numberRows(all) {
	return all.map(one => {
		if (one.error) { return h("div", { class: "type" }, h("div", {}, h("div", { class: "soft" }, one.text), h("div", { class: "bad" }, one.error))); }
		const [best, ...rest] = one.values, unsure = best.p <= sure;
		return h("div", { class: `type${all.length === 1 ? " only" : ""}${unsure ? " unsure" : ""}` }, h("div", {},
			h("div", { class: "soft" }, one.text), h("div", { class: "digits" }, best.value),
			h("div", { class: unsure ? "bad" : "soft" }, unsure ? `Not sure: ${percent(best.p)}` : percent(best.p)),
			unsure ? rest.slice(0, 3).map(other => h("div", { class: "soft" }, `or ${other.value}: ${percent(other.p)}`)) : ""),
		unsure ? "" : copyButton(best.value));
	});
}

// cell is a cell of CSV. What a spreadsheet would run as a formula gets a ' before it, as batch does it: OWASP, "CSV Injection".
function cell(text) {
	const risky = /^[=+\-@\t\r\n\uff1d\uff0b\uff0d\uff20]/.test(text) && /[\p{L}\p{N}]/u.test(text) && !/^[+-]\d*[.,]?\d*$/.test(text);
	return `"${(risky ? `'${text}` : text).replaceAll("\"", "\"\"")}"`;
}

// allButtons give all numbers at once: of those that are not sure none.
function allButtons(all, form) {
	const sureOf = one => one.values[0]?.p > sure ? one.values[0].value : "";
	const rows = [["card", form, "probability"], ...all.map(one => [one.text, sureOf(one), one.values[0] ? percent(one.values[0].p) : one.error])];
	const csv = rows.map(row => row.map(cell).join(",")).join("\r\n") + "\r\n";
	return h("p", { class: "row" }, h("button", { type: "button", click: event => copy(all.map(sureOf).join("\n"), event.currentTarget) }, "Copy all that are sure"),
		h("button", { type: "button", click: () => save("numbers.csv", csv, "text/csv") }, "Save numbers.csv"));
}

// cardsOf asks about cards, one a line. Several are asked about as a file, of which heads and lines without a card are
// passed over.
const cardsOf = (command, options, texts) => texts.length > 1 ? [command, ...options, "--file", "cards.txt"] : withTexts(command, options, texts);

// typedOf is the same as somebody would type it: few cards as they are.
const typedOf = (command, options, texts) => texts.length > 20 ? cardsOf(command, options, texts) : withTexts(command, options, texts);

// taken are the texts of the cards in what was typed: those of lines with more in them are shorter.
function taken(texts, doc) {
	const all = (doc.taken ?? []).map(part => part.text).filter((text, i, before) => text !== before[i - 1]);
	if (all.length === 1 && doc.reads.length === 1 && !all[0].endsWith("…")) { return all; }
	if (doc.reads.length === texts.length) { return all.length === texts.length ? all.map((text, i) => text.endsWith("…") ? texts[i] : text) : texts; }
	return all.length === doc.reads.length ? all : doc.reads.map((_, i) => `card ${i + 1}`);
}

// showCards: what cards are, and what to type in.
async function showCards(text) {
	const texts = lines(text), with_ = context();
	if (texts.length === 0) { return []; }
	with_.given["cards.txt"] = texts.join("\n");
	const asking = options => cardsOf("identify", options, texts);
	const answer = await ask(asking([...with_.options, "--json", "--top", "50"]), with_.given);
	if (answer.code > 1) { return [inWords("This can't be read", asking(with_.options), answer)]; }
	const doc = JSON.parse(answer.out), [, name] = wanted(), cards = taken(texts, doc);
	if (doc.serial) { return [serialSection(doc.serial), wordsOf(asking(with_.options), with_, typedOf("identify", with_.options, texts))]; }
	const found = await numbers(cards, doc, with_), rows = numberRows(found);
	if (cards.length > 1) { rows.push(allButtons(found, name)); }
	const drawing = h("div", {});
	if (texts.length <= 40) { picture(texts, with_).then(part => part && drawing.append(part)); }
	return [
		section(heading(found), rows),
		answer.err && h("p", { class: "soft" }, answer.err.trim()),
		...(doc.populations ?? [doc]).map(part => kindsSection(part, cards)),
		drawing,
		wordsOf(asking(with_.options), with_, typedOf("identify", with_.options, texts)),
	];
}

// serialSection says what a chip's serial is, and what a reader sends of it: which of these is its own setting.
function serialSection({ uid, facts, reads }) {
	const [way, name] = wanted(), form = way === "door" ? doors.find(door => door.name === name)?.form : name;
	const rows = reads.map(r => {
		const value = r.forms[form] ?? r.forms.decimal, as = r.forms[form] ? "" : "decimal: ";
		return h("div", { class: "type" }, h("div", {}, h("div", { class: "soft" }, `${r.length} bits, ${r.part}: ${r.read}`), h("div", { class: "code" }, as, h("b", {}, value))), copyButton(value, `${value}, ${r.length} bits, ${r.part}`));
	});
	const part = section(`A chip's serial number, ${uid}`, h("ul", { class: "notes" }, facts.map(fact => h("li", {}, fact))),
		h("h2", {}, `What a reader set to so many bits sends, as ${name}`), h("p", { class: "soft" }, "Which of these is the reader's own setting: present the card and compare."), rows);
	part.classList.add("serial");
	return part;
}

// heading says whether to type the numbers in at all: one that is not sure may be another card's.
function heading(all) {
	const [way, name] = wanted(), where = way === "door" ? `at ${name}` : `as ${name}`;
	const good = all.filter(one => one.values[0]?.p > sure).length;
	if (good === all.length) { return `${all.length > 1 ? "Type these in" : "Type this in"}, ${where}`; }
	return good ? `${good} of ${all.length} are sure enough to type in, ${where}` : `Nothing here is sure enough to type in, ${where}`;
}

// faults are what went wrong on the line, in the words of the program.
const faults = JSON.parse($("faults").textContent);

function kindsSection(doc, texts) {
	const shown = doc.candidates.slice(0, 5), rest = doc.candidates.slice(5).reduce((sum, c) => sum + c.probability, doc.others ?? 0);
	const row = (name, about, p, fault = "") => h("li", {}, h("b", {}, name), h("span", { class: "odds" }, percent(p)),
		about && h("span", { class: "about" }, about), fault && h("span", { class: "about bad" }, fault),
		h("meter", { min: 0, max: 1, value: p, "aria-label": `probability of ${name}` }));
	const rows = shown.map(c => row(c.format ?? `like ${c.frame}`, c.description ?? "its bits and checks, divided as no table has it", c.probability, faults[c.fault]));
	if (rest > 0) { rows.push(row("others", "less likely readings", rest)); }
	rows.push(row("none of these", "", doc.unknown));
	const best = doc.candidates[0], card = best?.cards?.[0];
	const forms = card?.forms && best.probability > doc.unknown ? [h("details", {}, h("summary", {}, `Card ${doc.given?.[0] ?? 1} as ${best.format}, in every form`), h("table", {}, h("tbody", {}, Object.entries(card.forms).map(([form, value]) =>
		h("tr", {}, h("th", { scope: "row" }, form), h("td", { class: "code" }, value), h("td", { class: "odds" }, copyButton(value, `${form} ${value}`)))))))] : [];
	const which = doc.given ? `Cards ${doc.given.join(", ")}: what they can be` : texts.length > 1 ? "What they can be" : "What it can be";
	return section(which, h("ul", { class: "kinds" }, rows), ...notes("Evidence", best?.evidence), ...notes("To be surer", doc.settle), ...notes("Take care", doc.warnings), ...forms);
}

// picture draws the cards as draw does, as wide as there is room.
async function picture(texts, { given, options }) {
	const how = ["-o", "card.svg", ...($("answer").clientWidth < 560 ? ["--narrow"] : []), ...options];
	const args = cardsOf("draw", how, texts), typed = typedOf("draw", how, texts);
	const answer = await ask(args, given), drawn = answer.written["card.svg"];
	if (!drawn) { return null; }
	const svg = new DOMParser().parseFromString(new TextDecoder().decode(drawn), "image/svg+xml").documentElement;
	return section("The bits", h("div", { class: "picture" }, document.importNode(svg, true)), saveButtons({ "card.svg": drawn }), commandLine(typed));
}

// wordsOf is the program's own text, asked for when it is opened.
function wordsOf(args, { given }, typed) {
	const inside = h("div", {});
	return section("", h("details", { toggle: async event => {
		if (!event.currentTarget.open || inside.childElementCount) { return; }
		const answer = await ask(args, given);
		inside.append(words(answer.out + answer.err));
	} }, h("summary", {}, "The whole answer in the program's words"), inside), commandLine(typed));
}

const plain = (title, command) => async text => {
	const with_ = context(), args = command(text, with_);
	return [inWords(title, args, await ask(args, with_.given))];
};

async function showEach(text) {
	const with_ = context(), texts = lines(text), [way, name] = wanted();
	const args = ["identify", "--each", "--file", "cards.txt", ...with_.options];
	with_.given["cards.txt"] = texts.join("\n");
	const { out } = await ask([...args, "--json", "--top", "50"], with_.given);
	const docs = out.trim().split("\n").filter(Boolean).map(line => JSON.parse(line)), textOf = doc => texts[doc.line - 1];
	const refused = doc => doc.error ?? (doc.serial && "A chip's serial number: ask about it alone for what readers send of it.");
	const atDoor = way === "door" ? await converted(docs.filter(doc => !refused(doc)).map(textOf), with_) : [];
	const found = docs.map(doc => refused(doc) ? { text: textOf(doc), values: [], error: refused(doc) } : atDoor.shift() ?? told(textOf(doc), doc, 0, name));
	const rows = found.length ? [section(heading(found), numberRows(found), allButtons(found, name))] : [];
	return [...rows, inWords("Each by itself", args, await ask(args, with_.given))];
}

async function showPairs(text) {
	return plain("The rule between the two numbers", () => ["relate", ...lines(text), "-o", "rule.toml"])(text);
}

async function showSample(text) {
	const with_ = context(), args = ["learn", "sample.txt", "-o", "format.toml"];
	with_.given["sample.txt"] = lines(text).join("\n");
	const answer = await ask(args, with_.given), learned = answer.written["format.toml"];
	const use = learned ? [h("p", {}, h("button", { type: "button", click: () => { shelf.set("format.toml", { text: learned, kind: "formats" }); showShelf(); $("kind").value = "auto"; refresh(); } }, "Use this format here"))] : [];
	return [inWords("Their layout", args, answer, use)];
}

function listFile(text, kind, given) {
	if (text.trim()) { given["pasted.csv"] = text; return "pasted.csv"; }
	return names(kind)[0];
}

async function showList(text) {
	const with_ = context(), file = listFile(text, "list", with_.given), [way, name] = wanted();
	if (!file) { return [section("A list", h("p", {}, "Paste a list, or open a file."))]; }
	if (with_.options.includes("--site")) {
		const check = ["check", file, ...with_.options, ...extra()];
		const batch = ["batch", file, ...with_.options, ...extra(), ...(way === "door" ? ["--door", name] : ["--to", name]), "-o", "new.csv"];
		return [inWords("What is wrong with the list", check, await ask(check, with_.given)), inWords(`The list with numbers as ${name}`, batch, await ask(batch, with_.given))];
	}
	return [...await proposal(file, with_, extra()), section("", h("p", {}, "With a site, the list is checked and its numbers are converted for each door."))];
}

// proposal is what a list shows of its site, for whoever has no site file.
async function proposal(file, with_, options) {
	const site = ["site", "--from", file, ...options, "-o", "site.toml"], answer = await ask(site, with_.given), found = answer.written["site.toml"];
	const shown = found ? [h("pre", {}, new TextDecoder().decode(found)), h("p", {}, h("button", { type: "button", click: () => setSite(new TextDecoder().decode(found)) }, "Use this as the site"))] : [];
	return [inWords("What the list shows of its site", site, answer, shown)];
}

async function showLog(text) {
	const with_ = context(), log = listFile(text, "log", with_.given), list = names("list")[0];
	if (!list || !log) { return [section("A log", h("p", {}, list ? "Open the log, or paste it." : "Open the list of cardholders too: the log's unknown cards are looked for in it."))]; }
	if (!with_.options.includes("--site") && !extra().includes("--format")) {
		return [section("A log", h("p", {}, "Whose the unknown cards are can be told once it is known what cards are in use: take what the list shows as the site, or open a site file.")), ...await proposal(list, with_, [])];
	}
	const args = ["match", log, "--list", list, ...with_.options, ...extra(), "-o", "named.csv"];
	return [inWords("Whose the unknown cards are", args, await ask(args, with_.given))];
}

async function showRecording(text) {
	const with_ = context();
	let file = names("recording")[0];
	if (text.trim()) { file = /^\$/m.test(text) ? "pasted.vcd" : /^\s*\{/.test(text) ? "pasted.jsonl" : "pasted.csv"; with_.given[file] = text; }
	if (!file) { return [section("A recording", h("p", {}, "Open a recording: VCD or CSV."))]; }
	const args = ["capture", file, "--identify", ...extra()];
	return [inWords("What was on the line", args, await ask(args, with_.given))];
}

// The site.
let doors = [], siteWorks = false, siteTurn = 0;

async function setSite(text) {
	$("toml").value = text;
	await siteChanged();
	if (text.trim() && !siteWorks) { $("site").open = true; }
}

async function siteChanged() {
	const text = $("toml").value, turn = ++siteTurn;
	let words = "No site is set.";
	doors = [];
	siteWorks = false;
	if (text.trim()) {
		const given = { "site.toml": text };
		const probe = await ask(["identify", "26:32D687E", "--json", "--site", "site.toml"], given);
		const listed = await ask(["__complete", "convert", "--site", "site.toml", "--door", ""], given);
		if (turn !== siteTurn) { return; }
		siteWorks = probe.code < 2;
		words = siteWorks ? "The site file is in use." : probe.err.trim();
		doors = siteWorks ? listed.out.split("\n").map(line => line.split("\ttakes ")).filter(part => part.length === 2).map(([name, form]) => ({ name, form })) : [];
	}
	$("sitestate").textContent = words;
	$("sitestate").className = siteWorks || !text.trim() ? "soft" : "bad";
	if ($("keep").checked) { localStorage.setItem("cardtell-site", text); }
	fillForms();
	refresh();
}

// quoteTOML writes a text as a TOML basic string: TOML 1.0, "String".
const quoteTOML = text => JSON.stringify(text).replaceAll("\x7f", "\\u007f");

function addBlock(title, form, texts) {
	const fields = Object.entries(texts).filter(([, value]) => value.trim()).map(([key, value]) => `${key} = ${key === "facility" && /^[\d ,]+$/.test(value) ? `[${value}]` : quoteTOML(value.trim())}`);
	const name = $("toml").value.trim() || "name = \"My site\"";
	form.reset();
	return setSite(`${name}\n\n[[${title}]]\n${fields.join("\n")}\n`);
}

// wanted is the form that numbers are to be written in: a door's, or one by name.
const wanted = () => $("form").value.split(/:(.*)/s);
let forms = [];

function fillForms() {
	const before = $("form").value;
	const option = (value, text) => h("option", { value }, text);
	$("form").replaceChildren(
		...(doors.length ? [h("optgroup", { label: "for a door" }, doors.map(door => option(`door:${door.name}`, `${door.name} (${door.form})`)))] : []),
		h("optgroup", { label: "in a form" }, forms.map(form => option(`form:${form.name}`, form.example ? `${form.name}, such as ${form.example}` : form.name))));
	if ([...$("form").options].some(o => o.value === before)) { $("form").value = before; }
	if (doors.length && before.startsWith("form:")) { $("form").selectedIndex = 0; }
	showDoors();
}

function showDoors() {
	$("doors").replaceChildren(...doors.map(door => h("button", { type: "button", "aria-pressed": String($("form").value === `door:${door.name}`),
		click: () => { $("form").value = `door:${door.name}`; refresh(); } }, door.name)));
}

// A line to a reader, where the browser has one.
const wire = { port: null, reader: null, text: "", began: 0 };

async function listen() {
	wire.port = await navigator.serial.requestPort();
	await wire.port.open({ baudRate: Number($("baud").value) });
	wire.text = "";
	wire.began = performance.now();
	$("hangup").hidden = false;
	$("connect").hidden = true;
	say("Listening…");
	wire.reader = wire.port.readable.getReader();
	const decoder = new TextDecoder(), bus = $("speaks").value === "bus";
	for (;;) {
		const { value, done } = await wire.reader.read();
		if (done) { break; }
		if (bus) {
			const hex = [...value].map(byte => byte.toString(16).padStart(2, "0")).join("");
			heard(`${JSON.stringify({ at_s: (performance.now() - wire.began) / 1000, hex })}\n`);
		} else { heard(decoder.decode(value, { stream: true })); }
	}
	wire.reader.releaseLock();
	await wire.port.close();
	$("hangup").hidden = true;
	$("connect").hidden = false;
	say("The line is closed.");
}

let quiet = 0;
function heard(text) {
	wire.text += text;
	clearTimeout(quiet);
	quiet = setTimeout(() => {
		const whole = wire.text.slice(0, wire.text.lastIndexOf("\n") + 1);
		if (whole.trim()) { $("what").value = whole.trim(); refresh(); }
	}, 120);
}

// Begin.
function missing() {
	const needed = { "a worker": "Worker" in self, "WebAssembly": "WebAssembly" in self, "DecompressionStream": "DecompressionStream" in self, "structured JavaScript of 2022": "at" in Array.prototype };
	return Object.keys(needed).filter(name => !needed[name]);
}

let pause = 0;
function wireUp() {
	$("what").addEventListener("input", () => { clearTimeout(pause); pause = setTimeout(refresh, 150); });
	$("kind").append(h("option", { value: "auto" }, "what it looks like"), ...Object.entries(kinds).filter(([, kind]) => kind.show).map(([id, kind]) => h("option", { value: id }, kind.name)));
	$("stop").addEventListener("click", stop);
	for (const id of ["kind", "form", "extra"]) { $(id).addEventListener("change", refresh); }
	$("open").addEventListener("click", () => $("file").click());
	$("file").addEventListener("change", () => { openFiles([...$("file").files]); $("file").value = ""; });
	$("clear").addEventListener("click", () => { $("what").value = ""; shelf.clear(); showShelf(); $("kind").value = "auto"; refresh(); $("what").focus(); });
	document.addEventListener("dragover", event => { event.preventDefault(); document.body.classList.add("over"); });
	document.addEventListener("dragleave", () => document.body.classList.remove("over"));
	document.addEventListener("drop", event => { event.preventDefault(); document.body.classList.remove("over"); openFiles([...event.dataTransfer.files]); });
	$("toml").addEventListener("change", siteChanged);
	$("block").addEventListener("submit", event => { event.preventDefault(); addBlock("cards", event.target, Object.fromEntries(new FormData(event.target))); });
	$("door").addEventListener("submit", event => { event.preventDefault(); addBlock("doors", event.target, Object.fromEntries(new FormData(event.target))); });
	$("savesite").addEventListener("click", () => save("site.toml", $("toml").value));
	$("dropsite").addEventListener("click", () => setSite(""));
	$("propose").addEventListener("click", () => { $("kind").value = "list"; refresh(); });
	$("keep").addEventListener("change", () => { if ($("keep").checked) { localStorage.setItem("cardtell-site", $("toml").value); } else { localStorage.removeItem("cardtell-site"); } });
	$("forget").addEventListener("click", () => { localStorage.removeItem("cardtell-site"); $("keep").checked = false; shelf.clear(); showShelf(); $("what").value = ""; setSite(""); });
	$("licences").addEventListener("toggle", showLicences, { once: true });
	if ("serial" in navigator) {
		$("listen").hidden = false;
		$("listen").addEventListener("click", () => { $("line").hidden = !$("line").hidden; });
		$("connect").addEventListener("click", () => listen().catch(error => say(`The line can't be listened to: ${error.message}`, true)));
		$("hangup").addEventListener("click", () => wire.reader.cancel());
	}
}

// showLicences unpacks the licences, when somebody opens them.
async function showLicences() {
	$("licences").querySelector("pre").textContent = await unpacked($("notices").textContent).text();
}

async function begin() {
	const lacks = missing();
	if (lacks.length) { say(`This browser is too old for this page: it lacks ${lacks.join(", ")}. Update it, or use the program on a computer.`, true); document.documentElement.dataset.ready = "no"; return; }
	program.script = await unpacked($("worker").textContent).text();
	wireUp();
	startProgram();
	try { await program.ready; } catch (error) { say(`The program did not start: ${error.message}`, true); return; }
	forms = JSON.parse((await ask(["formats", "--forms", "--json"])).out).forms;
	for (const select of document.querySelectorAll("#block select, #door select")) { select.append(...(select.name === "printed" ? [h("option", { value: "" }, "not printed")] : []), ...forms.map(form => h("option", { value: form.name }, form.name))); }
	fillForms();
	let kept = null;
	try { kept = localStorage.getItem("cardtell-site"); } catch { kept = null; }
	if (kept) { $("keep").checked = true; await setSite(kept); }
	say("Ready.");
	document.documentElement.dataset.ready = Math.round(performance.now());
	if ($("what").value) { refresh(); } else { ask(["identify", "26:32D687E"]); } // the next question finds the tables made
}

begin();
