package main

import (
	"bytes"
	"encoding/binary"
	"math"
)

// A program of Go holds the names of its functions and the lines of its source, for the traces of a crash alone. They
// are a tenth of the page, and a page shows no traces: forget wipes them, and what is nothing but zeros packs to
// nothing. What the collector of garbage and growing stacks need stays. The layout is that of runtime/symtab.go and
// _func in runtime/runtime2.go of the release of Go that go.mod names; of another layout nothing is wiped.

// tables is the beginning of a table of functions: its sign, and that addresses have eight bytes.
var tables = []byte{0xf1, 0xff, 0xff, 0xff, 0, 0, 1, 8}

// sizes of the head of the table, of an entry of its index, and of the description of a function.
const (
	tableHead = 72
	indexSize = 8
	described = 44
)

// Fields of a function that traces alone use, as places in its description: its name, the tables of its files and
// lines, its unit, and its first line. Beside them are the tables that others use, and how many more follow.
const (
	nameField, filesField, linesField, unitField, startField = 4, 20, 24, 32, 36
	stackField, moreField                                    = 16, 28
)

// Tables of a function that traces alone use, or stops at any instruction, which a browser has not: by their numbers
// in internal/abi/symtab.go. From the arguments on, all others are for traces.
const unsafePoints, liveArguments, arguments = 0, 3, 5

// forget wipes the names and lines in the memory that a program begins with, and tells where the index of its functions
// is and how many there are.
func forget(memory []byte) span {
	at := bytes.Index(memory, tables)
	if at < 0 || len(memory) < at+tableHead {
		return span{}
	}
	t := memory[at:]
	word := func(field int) int { return int(binary.LittleEndian.Uint64(t[8*field:])) }
	functions := word(1)
	names, steps, index := word(4), word(7), word(8)
	if names != tableHead || names > steps || steps > index || index+(functions+1)*indexSize > len(t) {
		return span{}
	}
	kept, wiped := map[int]bool{0: true}, map[int]bool{} // 0 is no table
	for i := range functions {
		from := index + number32(t, index+i*indexSize+4)
		if from+described > len(t) {
			return span{}
		}
		f := t[from:]
		more := number32(f, moreField)
		if described+4*more > len(f) {
			return span{}
		}
		kept[number32(f, stackField)] = true
		for k := range more {
			field := described + 4*k
			if k == unsafePoints || k == liveArguments {
				wiped[number32(f, field)] = true
				clear(f[field : field+4])
			}
			kept[number32(f, field)] = true
		}
		for k := arguments; k < int(f[described-1]) && described+4*(more+k+1) <= len(f); k++ {
			binary.LittleEndian.PutUint32(f[described+4*(more+k):], math.MaxUint32) // there is none
		}
		wiped[number32(f, filesField)], wiped[number32(f, linesField)] = true, true
		for _, field := range []int{nameField, filesField, linesField, unitField, startField} {
			clear(f[field : field+4])
		}
	}
	clear(t[names:steps])
	for from := range wiped {
		if !kept[from] {
			clearSteps(t[min(steps+from, index):index])
		}
	}
	return span{at + index, functions}
}

func number32(b []byte, at int) int { return int(binary.LittleEndian.Uint32(b[at:])) }

// clearSteps wipes a table of steps: pairs of numbers, of which a 0 for the first ends it, but at its very beginning.
func clearSteps(t []byte) {
	for at := 0; at < len(t); {
		first := at
		_, n := binary.Uvarint(t[at:])
		if n <= 0 || t[at] == 0 && first > 0 {
			return
		}
		_, more := binary.Uvarint(t[at+n:])
		if more <= 0 {
			return
		}
		clear(t[at : at+n+more])
		at += n + more
	}
}
