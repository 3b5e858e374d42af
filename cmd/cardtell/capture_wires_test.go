package main

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// Of channels with numbers, the wires are those that move like a reader's; two readers are named, and none is passed
// over.
func TestCaptureChannels(t *testing.T) {
	t.Parallel()
	moved := strings.NewReplacer(" D0 ", " D2 ", " D1 ", " D3 ", "$enddefinitions",
		"$var wire 1 # D0 $end $var wire 1 $ D1 $end $enddefinitions").Replace(recorded(card, staff17))
	moved = strings.Replace(moved, "#0 ", "#0 1# 1$ ", 1)
	code, out, errs := cli("capture", write(t, "moved.vcd", moved), "--json")
	require.Zero(t, code, errs)
	require.Equal(t, card, objects(t, out)[0]["bits"])
	require.Contains(t, errs, "D2 and D3 are taken for DATA0 and DATA1")
	both := strings.NewReplacer(" 0!", " 0! 0#", " 1!", " 1! 1#", ` 0"`, ` 0" 0$`, ` 1"`, ` 1" 1$`).Replace(moved)
	code, _, errs = cli("capture", write(t, "both.vcd", both))
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, "2 readers")
	// Names are written as a command line takes them.
	rows := "time_ms,IN D0,IN D1,OUT D0,OUT D1\n0,1,1,1,1\n"
	for i, bit := range card {
		low := map[rune]string{'0': "0,1,0,1", '1': "1,0,1,0"}[bit]
		rows += fmt.Sprintf("%d.00,%s\n%d.05,1,1,1,1\n", 100+i, low, 100+i)
	}
	code, _, errs = cli("capture", write(t, "rows.csv", rows+"999,1,1,1,1\n"))
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, `--d0 "IN D0" --d1 "IN D1", or --d0 "OUT D0" --d1 "OUT D1"`)
}

// Spreadsheets save text as UTF-16 with a mark before it; golang.org/x/text writes it here.
func TestCaptureWideText(t *testing.T) {
	t.Parallel()
	want := do("capture --json "+write(t, "in.csv", goodCSV), "")
	require.Equal(t, exitDone, want.code, want.err)
	for _, order := range []unicode.Endianness{unicode.LittleEndian, unicode.BigEndian} {
		for _, text := range []string{goodCSV, strings.NewReplacer("D0", "A", "D1", "B").Replace(goodCSV)} {
			wide, err := unicode.UTF16(order, unicode.UseBOM).NewEncoder().String(text)
			require.NoError(t, err)
			require.Equal(t, want.out, do("capture --json "+write(t, "in.csv", wide), "").out)
		}
	}
}

// Samples without a time are read where it is said how fast they were taken.
func TestCaptureRate(t *testing.T) {
	t.Parallel()
	_, bare, _ := strings.Cut(read(t, "../../testdata/line/samples.csv"), "\n")
	code, out, errs := cli("capture", write(t, "bare.csv", bare), "--rate", "20000", "--json")
	require.Zero(t, code, errs)
	require.Equal(t, card, objects(t, out)[0]["bits"])
}

// A key whose pulses bounce or are lost is still a key: nothing of it is shown.
func TestCaptureHidesSpoiltKeys(t *testing.T) {
	t.Parallel()
	const key = "10000111" // 7, as general drivers have it
	bounced := recorded(key)
	for k, bit := range key {
		at := 500000 + 2000*k + 50
		wire := map[rune]string{'0': "!", '1': `"`}[bit]
		old := "#" + strconv.Itoa(at) + " 1" + wire
		require.Contains(t, bounced, old)
		bounced = strings.Replace(bounced, old, old+" #"+strconv.Itoa(at+20)+" 0"+wire+" #"+strconv.Itoa(at+50)+" 1"+wire, 1)
	}
	for name, text := range map[string]string{
		"bounced": bounced, "lost": recorded("1000-111"),
	} {
		file := write(t, "key.vcd", text)
		for _, args := range [][]string{nil, {"--json"}, {"--identify"}} {
			_, out, errs := cli(append([]string{"capture", file}, args...)...)
			for _, secret := range []string{"10000111", "1000?111", "1000111", "1100000000111111", "keypad key 7"} {
				require.NotContains(t, strings.ReplaceAll(out+errs, " ", ""), strings.ReplaceAll(secret, " ", ""), "%s %v", name,
					args)
			}
			require.Contains(t, out+errs, map[bool]string{true: `"key_count":1`, false: "--show-pins shows it"}[len(args) > 0 &&
				args[0] == "--json"])
		}
	}
}

// identify uses the place of a lost pulse: the checks of the published 26-bit frame leave one bit for it, so that the
// card is the one that was sent; of two lost bits under one check nothing is said for sure.
func TestCaptureIdentifiesByPlace(t *testing.T) {
	t.Parallel()
	const seed = 5
	rng := rand.New(rand.NewPCG(seed, seed))
	t.Logf("seed %d", seed)
	dir := t.TempDir()
	right := 0
	for i := range 60 {
		facility, number := 1+rng.Uint64N(254), 1+rng.Uint64N(65000)
		file := filepath.Join(dir, fmt.Sprint(i, ".vcd"))
		code, _, errs := cli("capture", "-o", file, "--make", fmt.Sprintf("26:%07X", frame26(facility, number)), "--lose",
			fmt.Sprint(2+rng.IntN(24)))
		require.Zero(t, code, errs)
		_, out, errs := cli("capture", file, "--identify")
		want := fmt.Sprintf("facility %d  number %d\n", facility, number)
		if strings.Contains(errs, "is taken for 26:") {
			assert.Contains(t, out, want)
			right++
		} else {
			assert.NotContains(t, out, "The 1 card of 26 bits")
		}
	}
	assert.Greater(t, right, 54, "of 60")
	t.Logf("%d of 60 cards with a lost pulse are known", right)
	// of another program: testdata/line/wires.py
	_, out, errs := cli("capture", "../../testdata/line/lost.vcd", "--identify")
	assert.Contains(t, errs, "is taken for 26:3A83702")
	assert.Contains(t, out, "facility 212  number 7041\n")
	ranker, err := rank.New(formats.Builtin())
	require.NoError(t, err)
	for open, sure := range map[string]bool{ // 26:0F241C3 without the bits marked 1
		"00010000000000000000000000": true, "00000000000000000001000000": true, // under the first check, under the last
		// one under each is likely, and not sure; two under one
		"00010000000000000001000000": false, "00010001000000000000000000": false,
	} {
		p := reads.Placed{Bits: wiegand.MustParseBits("26:0F241C3"), Open: wiegand.MustParseBits(open)}
		for i := range p.Bits.Len() {
			if p.Open.Bit(i) == 1 {
				p.Bits = p.Bits.WithBit(i, 0)
			}
		}
		seen := reads.NewSeen(true)
		seen.Cards, seen.Open[p.Bits] = []wiegand.Bits{p.Bits}, p
		got, right, err := seen.PutRight(ranker)
		require.NoError(t, err)
		assert.Equal(t, sure, len(right) == 1, open)
		if sure {
			assert.Equal(t, "26:0F241C3", got[0].Hex(), open)
		}
	}
}
