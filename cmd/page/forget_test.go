package main

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// The memory is made by hand, after runtime/symtab.go and runtime2.go of Go: two functions, of which the second one's
// table of lines is the first one's table of stack sizes, and which has what traces say of its arguments. That the
// page still works without names and lines is for all the other tests to say.
func TestForget(t *testing.T) {
	names := []byte("\x00main.main\x00main.other\x00")
	steps := []byte{0, 2, 1, 0, 8, 1, 0, 4, 4, 6, 6, 0} // nothing, and three tables at 1, 4 and 7
	index := tableHead + len(names) + len(steps)
	memory := make([]byte, 16, 1024)
	memory = append(memory, tables...)
	for _, n := range []int{2, 1, 0, tableHead, tableHead + len(names), tableHead + len(names), tableHead + len(names),
		index} {
		memory = binary.LittleEndian.AppendUint64(memory, uint64(n))
	}
	memory = append(append(memory, names...), steps...)
	const first = 3 * indexSize
	for _, n := range []int{0, first, 9, first + described + 4, 99, 0} {
		memory = binary.LittleEndian.AppendUint32(memory, uint32(n))
	}
	for _, f := range [][]uint32{{0, 1, 5, 0, 1, 4, 7, 1, 3, 20, 0, 7},
		{9, 11, 6, 0, 1, 4, 1, 0, 3, 30, 6 << 24, 1, 2, 3, 4, 5, 6}} {
		for _, n := range f {
			memory = binary.LittleEndian.AppendUint32(memory, n)
		}
	}
	memory = append(memory, "behind"...)
	got := bytes.Clone(memory)
	require.Equal(t, span{16 + index, 2}, forget(got))
	t1 := got[16:]
	require.Equal(t, make([]byte, len(names)), t1[tableHead:tableHead+len(names)])
	require.Equal(t, []byte{0, 2, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0}, t1[index-len(steps):index])
	for i, want := range [][]uint32{{0, 0, 5, 0, 1, 0, 0, 1, 0, 0, 0, 0},
		{9, 0, 6, 0, 1, 0, 0, 0, 0, 0, 6 << 24, 1, 2, 3, 4, 5, math.MaxUint32}} {
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

// Three functions of 44, 48 and 44 bytes, each in a place that is a whole number of eights: their first bytes come
// first, and what says nothing is wiped. An index that says something else is left alone.
func TestColumns(t *testing.T) {
	memory := make([]byte, 3*indexSize+4)
	for i, from := range []int{32, 80, 128} { // rounded up from 28, 76, 128
		binary.LittleEndian.PutUint32(memory[i*indexSize:], uint32(i))
		binary.LittleEndian.PutUint32(memory[i*indexSize+4:], uint32(from))
		memory = append(memory, make([]byte, from-len(memory))...)
		row := bytes.Repeat([]byte{byte(10 + i)}, described)
		binary.LittleEndian.PutUint32(row, uint32(i))
		binary.LittleEndian.PutUint32(row[moreField:], uint32(i%2))
		row[described-1] = 0
		memory = append(append(memory, row...), make([]byte, i%2*4)...)
	}
	memory = append(memory, "behind"...)
	got := bytes.Clone(memory)
	require.Equal(t, span{0, 3}, columns(got, span{0, 3}))
	require.Equal(t, make([]byte, 3*indexSize), got[:3*indexSize])
	require.Equal(t, []byte{0, 1, 2, 0, 0, 0, 0, 0, 0, 0, 0, 0, 10, 11, 12}, got[3*indexSize+4:][:15])
	require.True(t, bytes.HasSuffix(got, []byte("behind")))
	memory[indexSize]++
	got = bytes.Clone(memory)
	require.Zero(t, columns(got, span{0, 3}))
	require.Equal(t, memory, got)
}

// Nothing is lost in signs, and none of them is half of another, a mark, or what HTML reads as something else.
func TestWritten(t *testing.T) {
	random := rand.NewChaCha8([32]byte{1})
	for n := range 200 {
		b := make([]byte, n)
		random.Read(b)
		text := []rune(written(b))
		require.Zero(t, len(text)%signs)
		var low, high []byte
		bits, have := 0, 0
		for i := 0; i < len(text); i += 5 {
			sum, times := 0, 1
			for _, sign := range text[i : i+5] {
				require.True(t, sign >= 0x800 && sign < 0xd800 || sign >= 0xe000 && sign < 0xf800, "%x", sign)
				digit := int(sign)>>11 - 1
				if sign >= 0xe000 {
					digit--
				}
				sum, times = sum+digit*times, times*29
				for bits, have = bits<<11|int(sign)&0x7ff, have+11; have >= 8; have -= 8 {
					low = append(low, byte(bits>>(have-8)))
				}
				bits &= 0xff
			}
			high = append(high, byte(sum), byte(sum>>8), byte(sum>>16))
		}
		whole := append(high, low...)
		require.Equal(t, n, int(binary.LittleEndian.Uint32(whole)))
		require.Equal(t, b, whole[4:4+n])
	}
}

// Of three alike the first two are a pair, and what codes stand for can have others in it.
func TestPairs(t *testing.T) {
	text := []byte(strings.Repeat("abc", 50) + "aaa" + strings.Repeat("ab", 9))
	short, all := pairs(text)
	require.Less(t, len(short), len(text)/10)
	meaning := map[byte]string{}
	for i := 0; i < len(all); i += 3 {
		for _, c := range all[i+1 : i+3] {
			if meaning[c] == "" {
				meaning[c] = string(rune(c))
			}
		}
		meaning[all[i]] = meaning[all[i+1]] + meaning[all[i+2]]
	}
	var back strings.Builder
	for _, c := range short {
		back.WriteString(cmp.Or(meaning[c], string(rune(c))))
	}
	require.Equal(t, string(text), back.String())
}

// A script says the same without its remarks, but what is said of its rights stays.
func TestBare(t *testing.T) {
	require.Equal(t, "// Copyright somebody\nlet a = 1 // one\nlet b = \"// no remark\"\n",
		bare("// Copyright somebody\n\n\tlet a = 1 // one\n\t// a remark\nlet b = \"// no remark\"\n"))
}
