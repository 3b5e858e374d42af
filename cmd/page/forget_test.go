package main

import (
	"bytes"
	"encoding/binary"
	"testing"

	"github.com/stretchr/testify/require"
)

// The memory is made by hand, after runtime/symtab.go and runtime2.go of Go: two functions, of which the second one's table
// of lines is the first one's table of stack sizes. That the page still works without names and lines is for all the other
// tests to say.
func TestForget(t *testing.T) {
	names := []byte("\x00main.main\x00main.other\x00")
	steps := []byte{0, 2, 1, 0, 8, 1, 0, 4, 4, 6, 6, 0} // nothing, and three tables at 1, 4 and 7
	index := tableHead + len(names) + len(steps)
	memory := make([]byte, 16, 1024)
	memory = append(memory, tables...)
	for _, n := range []int{2, 1, 0, tableHead, tableHead + len(names), tableHead + len(names), tableHead + len(names), index} {
		memory = binary.LittleEndian.AppendUint64(memory, uint64(n))
	}
	memory = append(append(memory, names...), steps...)
	const first = 3 * indexSize
	for _, n := range []int{0, first, 9, first + described + 4, 99, 0} {
		memory = binary.LittleEndian.AppendUint32(memory, uint32(n))
	}
	for _, f := range [][]uint32{{0, 1, 5, 0, 1, 4, 7, 1, 3, 20, 0, 0}, {9, 11, 6, 0, 1, 4, 1, 0, 3, 30, 0}} {
		for _, n := range f {
			memory = binary.LittleEndian.AppendUint32(memory, n)
		}
	}
	memory = append(memory, "behind"...)
	got := bytes.Clone(memory)
	require.Equal(t, 2, forget(got))
	t1 := got[16:]
	require.Equal(t, make([]byte, len(names)), t1[tableHead:tableHead+len(names)])
	require.Equal(t, []byte{0, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0}, t1[index-len(steps):index])
	for i, want := range [][]uint32{{0, 0, 5, 0, 1, 0, 0, 1, 0, 0, 0, 0}, {9, 0, 6, 0, 1, 0, 0, 0, 0, 0, 0}} {
		for k, n := range want {
			at := index + first + i*(described+4) + 4*k
			require.Equal(t, n, binary.LittleEndian.Uint32(t1[at:]), "function %d, field %d", i, k)
		}
	}
	require.True(t, bytes.HasSuffix(got, []byte("behind")))
	for cut := range memory { // a memory that is cut short, or another layout
		require.NotPanics(t, func() { forget(bytes.Clone(memory[:cut])) })
	}
	other := bytes.Clone(memory)
	other[16+8*4]++
	require.Zero(t, forget(bytes.Clone(other)))
}
