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

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// TestCaptureSpoiltLines reads the recordings of testdata/line/wires.py, which knows nothing of the program.
func TestCaptureSpoiltLines(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		file string
		args []string
		bits []string // as they came; "" for no read
		mend string
		says []string
		not  string
	}{
		{"near.vcd", nil, []string{card, staff17}, "", []string{"2 marginal", "less silence between them than the gap"}, ""},
		{"bounce.vcd", nil, nil, card, []string{"1 suspect", "contacts bounce: --glitch 40µs joins the pulses",
			"loose terminal"}, "closer together"},
		{"bounce.vcd", []string{"--glitch", "40us"}, []string{card}, "", []string{"1 marginal"}, "contacts bounce"},
		{"cut.vcd", nil, []string{"000000000000000"}, "01010000011011100000010", []string{"1 suspect", "no pulse on DATA1"},
			"swallow"},
		{"lost.vcd", nil, []string{card[:6] + card[7:]}, "111010?0000011011100000010", []string{"1 suspect", "bit 7 (4ms)"},
			""},
		{"short.vcd", nil, []string{}, "", []string{"no read", "set --glitch to half of what they last",
			"every pulse lasts 5µs"}, "motor"},
		{"short.vcd", []string{"--glitch", "2500ns"}, []string{card}, "",
			[]string{"1 marginal", "a setting of the pulse width"}, ""},
		{"readers.vcd", []string{"--d0", "door_d0", "--d1", "door_d1"}, []string{staff17}, "", []string{"1 healthy"}, ""},
		{"channels.vcd", nil, []string{card}, "", []string{"ch3 and ch4 are taken for DATA0 and DATA1", "1 healthy"}, ""},
		{"scope.csv", nil, []string{card}, "", []string{"low is below 2.5", "1 healthy"}, ""},
		{"samples.csv", nil, []string{card}, "", []string{"1 healthy"}, "low is below"},
	} {
		t.Run(c.file, func(t *testing.T) {
			t.Parallel()
			args := append([]string{"capture", filepath.Join("../../testdata/line", c.file)}, c.args...)
			_, out, errs := cli(append(args, "--json")...)
			got := objects(t, out)
			if c.bits != nil {
				require.Len(t, got, len(c.bits))
			}
			for i, bits := range c.bits {
				require.Equal(t, bits, got[i]["bits"])
			}
			if c.mend != "" {
				require.Equal(t, c.mend, got[0]["mended"].(map[string]any)["bits"])
			}
			_, text, notes := cli(args...)
			flat := strings.Join(strings.Fields(text+notes), " ")
			for _, says := range c.says {
				require.Contains(t, flat, says)
				require.Contains(t, strings.Join(strings.Fields(out+errs), " "), says)
			}
			if c.not != "" {
				require.NotContains(t, flat, c.not)
			}
			if c.mend != "" {
				require.Contains(t, flat, "by the reader's pace it is ")
			}
		})
	}
	code, _, errs := cli("capture", "../../testdata/line/readers.vcd")
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, "2 readers; read one at a time: --d0 gate_d0 --d1 gate_d1, or --d0 door_d0 --d1 door_d1")
	require.Equal(t, 1, strings.Count(errs, "\n"))
}

// Of channels with numbers, the wires are those that move like a reader's; two readers are named, and none is passed
// over. A log of a bus is known by a packet in it (SIA OSDP Annex E, CRC example 2).
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
	code, out, errs = cli("capture", write(t, "bus.log", "12:00:01 TX 53 00 09 00 04 61 00 C0 66\n"))
	require.Equal(t, exitNo, code)
	require.Contains(t, out+errs, "1 packet in 9 bytes")
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
