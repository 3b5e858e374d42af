"use strict";
// The program runs here, beside the page, so that the page never waits for it. Its files are in memory and gone with the page.

// A file system for the support file of Go's js port, which calls these functions as those of Node.js.
const files = new Map(); // path to {data, ino, mode, time}
const opened = new Map(); // descriptor to {file, at, path}
let nextInode = 1, nextDescriptor = 100;

const clean = path => "/" + String(path).split("/").filter(part => part !== "" && part !== ".").join("/");
const failure = code => Object.assign(new Error(code), { code });
const newFile = () => ({ data: new Uint8Array(0), ino: nextInode++, mode: 0o100600, time: Date.now() });

function status(path) {
	const file = clean(path) === "/" ? { data: [], ino: 0, mode: 0o40700, time: 0 } : files.get(clean(path));
	if (!file) { throw failure("ENOENT"); }
	return statusOf(file);
}

function statusOf(file) {
	const time = file.time;
	return {
		dev: 1, ino: file.ino, mode: file.mode, nlink: 1, uid: 0, gid: 0, rdev: 0, size: file.data.length, blksize: 4096,
		blocks: 1, atimeMs: time, mtimeMs: time, ctimeMs: time, isDirectory: () => file.ino === 0,
	};
}

function openFile(path, flags) {
	const name = clean(path), way = globalThis.fs.constants;
	if (name === "/") { throw failure("EISDIR"); }
	let file = files.get(name);
	if (file && flags & way.O_CREAT && flags & way.O_EXCL) { throw failure("EEXIST"); }
	if (!file && !(flags & way.O_CREAT)) { throw failure("ENOENT"); }
	if (!file) { files.set(name, file = newFile()); }
	if (flags & way.O_TRUNC) { file.data = new Uint8Array(0); }
	opened.set(++nextDescriptor, { file, at: 0 });
	return nextDescriptor;
}

const held = fd => opened.get(fd) ?? (() => { throw failure("EBADF"); })();

function read(fd, buffer, offset, length, position) {
	const open = held(fd), from = position ?? open.at;
	const part = open.file.data.subarray(from, from + length);
	buffer.set(part, offset);
	if (position === null) { open.at += part.length; }
	return part.length;
}

function write(fd, buffer, offset, length, position) {
	const open = held(fd), from = position ?? open.at, { file } = open;
	const whole = new Uint8Array(Math.max(file.data.length, from + length));
	whole.set(file.data);
	whole.set(buffer.subarray(offset, offset + length), from);
	file.data = whole;
	file.time = Date.now();
	if (position === null) { open.at += length; }
	return length;
}

function rename(from, to) {
	const file = files.get(clean(from));
	if (!file) { throw failure("ENOENT"); }
	files.delete(clean(from));
	files.set(clean(to), file);
}

function remove(path) {
	if (!files.delete(clean(path))) { throw failure("ENOENT"); }
}

// calls turns functions into those that give their result to the last argument, which is how Go asks.
const calls = all => Object.fromEntries(Object.entries(all).map(([name, work]) => [name, (...args) => {
	const done = args.pop();
	let result = null;
	try { result = work(...args); } catch (error) {
		if (!error.code) { throw error; }
		done(error);
		return;
	}
	done(null, result);
}]));

const nothing = () => undefined;
const refused = () => { throw failure("ENOSYS"); };

globalThis.fs = {
	constants: { O_WRONLY: 1, O_RDWR: 2, O_CREAT: 64, O_EXCL: 128, O_TRUNC: 512, O_APPEND: 1024, O_DIRECTORY: 65536 },
	writeSync: (fd, buffer) => { console.error(new TextDecoder().decode(buffer)); return buffer.length; }, // a crash of Go itself
	...calls({
		open: openFile, close: fd => { opened.delete(fd); }, read, write, rename, unlink: remove, stat: status, lstat: status,
		fstat: fd => statusOf(held(fd).file), fsync: nothing, chmod: nothing, fchmod: nothing, chown: nothing, fchown: nothing,
		lchown: nothing, utimes: nothing, readlink: () => { throw failure("EINVAL"); },
		ftruncate: refused, truncate: refused, link: refused, symlink: refused, mkdir: refused, readdir: refused, rmdir: () => { throw failure("ENOTDIR"); },
	}),
};
globalThis.process = { cwd: () => "/", getuid: () => 0, getgid: () => 0, geteuid: () => 0, getegid: () => 0, pid: 1, ppid: 1 };
globalThis.path = { resolve: (...parts) => clean(parts.join("/")) };
