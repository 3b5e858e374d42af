package main

import (
	"bytes"
	"encoding/binary"
)

// span is a table in a memory: where it begins, and how many entries it has.
type span struct{ at, n int }

// columns sorts the descriptions of functions by columns, which pack better than rows: the first bytes of all first
// numbers, the second bytes of them, and so on. The index before them follows from them, and is wiped. Where it does
// not, nothing is done.
func columns(memory []byte, index span) span {
	if index.n == 0 {
		return span{}
	}
	t := memory[index.at:]
	rows, to := make([][]byte, index.n), index.n*indexSize+4
	longest := 0
	for i := range rows {
		at := (to + 7) &^ 7
		entry := t[i*indexSize:]
		if number32(entry, 4) != at || at+described > len(t) || !bytes.Equal(entry[:4], t[at:at+4]) {
			return span{}
		}
		to = at + described + 4*(number32(t[at:], moreField)+int(t[at+described-1]))
		rows[i] = bytes.Clone(t[at:min(to, len(t))])
		longest = max(longest, len(rows[i]))
	}
	clear(t[:index.n*indexSize])
	out := t[index.n*indexSize+4:][:0]
	for k := range longest {
		for _, row := range rows {
			if k < len(row) {
				out = append(out, row[k])
			}
		}
	}
	clear(t[index.n*indexSize+4+len(out) : to])
	return index
}

// bucket is the size of an entry of the table of functions by their places: a number, and sixteen bytes that are zeros
// where all functions begin at their own entries.
const bucket = 20

// buckets finds that table and wipes it, if it is as it is where all functions have the same room, sixteen entries
// each.
func buckets(memory []byte) (found span) {
	entry := func(i int) []byte {
		return append(binary.LittleEndian.AppendUint32(nil, uint32(i>>4)), make([]byte, bucket-4)...)
	}
	var sign []byte
	for i := range 48 {
		sign = append(sign, entry(i)...)
	}
	if found.at = bytes.Index(memory, sign); found.at < 0 {
		return span{}
	}
	for bytes.HasPrefix(memory[found.at+found.n*bucket:], entry(found.n)) {
		found.n++
	}
	clear(memory[found.at : found.at+found.n*bucket])
	return found
}
