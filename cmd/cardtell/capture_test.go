package main

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

const (
	simulated = "../../testdata/line/reader.vcd"
	keyBurst  = "../../testdata/line/burst.vcd"
	card      = "11101010000011011100000010" // facility 212, number 7041, a published 26-bit example
)

// objects reads lines of JSON.
func objects(t *testing.T, out string) (all []map[string]any) {
	t.Helper()
	for l := range strings.Lines(out) {
		var m map[string]any
		require.NoError(t, json.Unmarshal([]byte(l), &m), l)
		all = append(all, m)
	}
	return all
}

func TestCaptureText(t *testing.T) {
	t.Parallel()
	code, out, errs := cli("capture", simulated)
	require.Zero(t, code)
	require.Empty(t, errs)
	require.Equal(t, `../../testdata/line/reader.vcd: two-wire, DATA0 is reader.panel.d0 and DATA1 is reader.panel.d1

#1   at 0.0800 s   26 bits   26:3A83702
     11101010 00001101 11000000 10
     healthy; pulses 50µs; intervals 2ms

#2   at 0.2320 s   26 bits   26:3A83702
     11101010 00001101 11000000 10
     healthy; pulses 50µs; intervals 2ms

Summary
  2 reads: 2 healthy, 0 marginal, 0 suspect
  by bits: 26:3A83702 2×
                  min       5%     mean      95%      max   standard
  pulse          50µs     50µs     50µs     50µs     50µs   20µs to 100µs
  interval        2ms      2ms      2ms      2ms      2ms   200µs to 20ms
`, out)
}

func TestCaptureJSON(t *testing.T) {
	t.Parallel()
	code, out, errs := cli("capture", simulated, "--json")
	require.Zero(t, code)
	require.Contains(t, errs, "2 healthy", "sums are remarks")
	got := objects(t, out)
	require.Len(t, got, 2)
	stats := map[string]any{"min": 50.0, "p5": 50.0, "mean": 50.0, "p95": 50.0, "max": 50.0}
	intervals := map[string]any{"min": 2000.0, "p5": 2000.0, "mean": 2000.0, "p95": 2000.0, "max": 2000.0}
	require.Equal(t, map[string]any{
		"time_s": 0.08, "bits": card, "length": 26.0, "source": "two-wire", "verdict": "healthy",
		"timing": map[string]any{"pulse_us": stats, "interval_us": intervals}, "warnings": []any{},
	}, got[0])
	_, _, errs = cli("capture", simulated, "--json", "--quiet")
	require.Empty(t, errs)
}

// TestCaptureFitsTheTerminal looks at every line of a recording with much to say.
func TestCaptureFitsTheTerminal(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "bad.vcd")
	code, _, errs := cli("capture", "--make", "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC", "--make",
		"26:3A83702", "--lose", "7", "--spikes", "--jitter", "8", "-o", file)
	require.Zero(t, code, errs)
	code, out, _ := cli("capture", file, "--same")
	require.Equal(t, exitNo, code, "suspect reads agree on nothing")
	for _, want := range []string{"199 bits", "25 bits", "missing just before this one", "bit 7 (", "removed",
		"Where to look first",
		"Caution.", "Local codes", "every read equal to this is suspect"} {
		require.Contains(t, strings.Join(strings.Fields(out), " "), want)
	}
	for i, l := range strings.Split(out, "\n") {
		if i > 0 { // the first has the file's name
			require.LessOrEqual(t, utf8.RuneCountInString(l), say.Width, l)
			require.Equal(t, strings.TrimRight(l, " "), l, "no spaces at the end")
		}
	}
}

func TestCaptureMake(t *testing.T) {
	t.Parallel()
	for read, want := range map[string]string{"26:3A83702": card,
		"bits:0000000000000000000000001": "0000000000000000000000001",
		"left:26:EA0DC080":               card, ";0123?": "11010000011000001000110011111100100"} {
		for _, more := range [][]string{nil, {"--invert"}, {"--jitter", "20", "--spikes"}} {
			file := filepath.Join(t.TempDir(), "made.vcd")
			code, out, errs := cli(append([]string{"capture", "--make", read, "--repeat", "2", "-o", file}, more...)...)
			require.Zero(t, code, errs)
			require.Empty(t, out)
			if runtime.GOOS != "windows" {
				info, err := os.Stat(file)
				require.NoError(t, err)
				require.Equal(t, os.FileMode(0o600), info.Mode().Perm(), "a recording is a credential")
			}
			code, out, _ = cli("capture", file, "--json")
			require.Zero(t, code)
			got := objects(t, out)
			require.Len(t, got, 2)
			require.Equal(t, want, got[0]["bits"], "%s %v", read, more)
			require.Equal(t, want, got[1]["bits"], "%s %v", read, more)
			if strings.HasPrefix(read, ";") {
				require.Equal(t, read, got[0]["track2"])
				require.Equal(t, "clock-and-data", got[0]["source"])
			}
		}
	}
	_, a, _ := cli("capture", "--make", "26:3A83702", "--jitter", "30", "-o", "-")
	_, b, _ := cli("capture", "--make", "26:3A83702", "--jitter", "30", "-o", "-")
	require.Equal(t, a, b, "the same command makes the same recording")
	r := do("capture - --json", a)
	code, out, errs := r.code, r.out, r.err
	require.Zero(t, code, errs)
	require.Equal(t, card, objects(t, out)[0]["bits"])
}

func TestCaptureSame(t *testing.T) {
	t.Parallel()
	// Four good reads and one that lost a bit, one after the other.
	var text strings.Builder
	text.WriteString("time_us,D0,D1\n0,1,1\n")
	at := 60000
	for i := range 5 {
		for k, c := range card {
			if i == 2 && k == 10 {
				continue
			}
			d0, d1 := int(c-'0'), 1-int(c-'0')
			fmt.Fprintf(&text, "%d,%d,%d\n%d,1,1\n", at, d0, d1, at+50)
			at += 2000
		}
		at += 100000
	}
	fmt.Fprintf(&text, "%d,1,1\n", at)
	file := write(t, "same.csv", text.String())
	code, out, _ := cli("capture", file, "--same", "--json")
	require.Zero(t, code)
	require.Equal(t, []map[string]any{{"bits": card, "length": 26.0, "reads": 5.0, "agree": 4.0, "bad": 1.0,
		"bad_share": 0.2,
		"sure":      true, "warnings": []any{}}}, objects(t, out))
	code, out, _ = cli("capture", file, "--same")
	require.Zero(t, code)
	require.Contains(t, out, "4 of 5 reads agree; 1 bad (20%): 1 lost a bit")
}

func TestCaptureHidesKeys(t *testing.T) {
	t.Parallel()
	bus := write(t, "bus.hex", "53 80 0F 00 05 53 00 05 31 32 33 34 0D 7B 38\n")
	for _, args := range [][]string{{keyBurst}, {keyBurst, "--json"}, {bus}, {bus, "--json"}, {bus, "--same"}} {
		code, out, errs := cli(append([]string{"capture"}, args...)...)
		require.Zero(t, code, errs)
		for _, secret := range []string{"0101", `"5"`, "1234", "4:5"} {
			require.NotContains(t, out+errs, secret, "%v", args)
		}
	}
	for file, want := range map[string][]string{keyBurst: {"0101", "keypad key 5", "keys\":\"5"},
		bus: {"", "keypad 1234#", "keys\":\"1234#"}} {
		_, out, _ := cli("capture", file, "--show-pins")
		require.Contains(t, out, want[0])
		require.Contains(t, out, want[1])
		_, out, _ = cli("capture", file, "--show-pins", "--json")
		require.Contains(t, out, want[2])
	}
	svg := filepath.Join(t.TempDir(), "key.svg")
	code, _, errs := cli("capture", keyBurst, "--draw", svg)
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, "--show-pins")
	require.NoFileExists(t, svg)
	code, _, _ = cli("capture", keyBurst, "--draw", svg, "--show-pins")
	require.Zero(t, code)
	require.FileExists(t, svg)
}

// A code typed at a keypad that sends all keys in one frame is hidden as well, in the forms of formats.TestKeys; a card
// is not.
func TestCaptureHidesCodesInOneFrame(t *testing.T) {
	t.Parallel()
	file := filepath.Join(t.TempDir(), "codes.vcd")
	code, _, errs := cli("capture", "-o", file, "--make", "20:1234B", "--make", "32:E1D2C3B4", "--make",
		"26:0F241C3")
	require.Zero(t, code, errs)
	for _, flag := range []string{"--quiet", "--json"} {
		_, out, errs := cli("capture", file, flag)
		for _, secret := range []string{"1234", "00010010001101001011", "E1D2", "1110000111010010"} {
			require.NotContains(t, strings.ReplaceAll(out, " ", "")+errs, secret, flag)
		}
		require.Contains(t, strings.ReplaceAll(out, " ", ""), "00111100100100000111000011", "a card")
	}
	_, out, _ := cli("capture", file, "--show-pins")
	require.Contains(t, out, "5 keys of 4 bits in one frame: 1234#")
	require.Contains(t, out, "4 keys of 8 bits in one frame: 1234\n")
	_, out, _ = cli("capture", file, "--show-pins", "--json")
	require.Contains(t, out, `"keys":"1234#"`)
	list := filepath.Join(t.TempDir(), "list.csv")
	code, out, errs = cli("capture", file, "--list", list)
	require.Zero(t, code, out+errs)
	text, err := os.ReadFile(list)
	require.NoError(t, err)
	require.NotContains(t, string(text), "1234")
	require.Contains(t, string(text), "26:0F241C3")
	code, _, errs = cli("capture", file, "--draw", filepath.Join(t.TempDir(), "x.svg"), "--read", "1")
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, "--show-pins")
}

// TestKeyOf has the codings of keys that are common practice, and the published wrong example of one.
func TestCaptureKeys(t *testing.T) {
	t.Parallel()
	for bits, key := range map[string]string{
		"0101": "5", "1011": "#", "1100": "", "10000111": "7", "10001111": "" /* a manual's misprint of 7 */, "01011010": "*",
		"000111": "3", "101010": "5", "110111": "#", "000110": "", "111": "", "10101": "",
	} {
		file := filepath.Join(t.TempDir(), "key.vcd")
		code, _, errs := cli("capture", "--make", "bits:"+bits, "-o", file)
		require.Zero(t, code, errs)
		_, out, _ := cli("capture", file, "--show-pins", "--json")
		got := objects(t, out)[0]
		require.Equal(t, bits, got["bits"])
		if key == "" {
			require.NotContains(t, got, "keys", bits)
		} else {
			require.Equal(t, key, got["keys"], bits)
		}
	}
}

func TestCaptureBus(t *testing.T) {
	t.Parallel()
	text := `53 00 08 00 04 60 EB AA
53 80 10 00 05 50 00 01 1A 00 EA 0D C0 80 6D 4B
53 81 11 00 06 50 00 01 25 00 18 1C 9E 24 08 88 02
11 22 33
53 80 15 00 05 51 00 01 0A 30 30 30 39 38 37 36 35 34 33 1F 72
53 80 15 00 05 51 00 01 0A 30 30 30 39 38 37 36 35 34 33 1F 73
`
	code, out, errs := cli("capture", write(t, "bus.hex", text), "--json")
	require.Zero(t, code, errs)
	got := objects(t, out)
	require.Len(t, got, 3)
	require.Equal(t, map[string]any{"bits": card, "length": 26.0, "source": "rs-485", "address": 0.0, "reader": 0.0,
		"warnings": []any{}}, got[0])
	require.Equal(t, 1.0, got[1]["address"], "entry and exit reader are told apart")
	require.Equal(t, "0009876543", got[2]["text"])
	require.Contains(t, errs, "1 packet with a wrong check")

	binary := strings.NewReplacer("\n", "", " ", "").Replace(text)
	var raw []byte
	for i := 0; i < len(binary); i += 2 {
		var b byte
		_, err := fmt.Sscanf(binary[i:i+2], "%02X", &b)
		require.NoError(t, err)
		raw = append(raw, b)
	}
	records := `{"at_s":0.25,"hex":"53 00 08 00 04 60 EB AA"}` + "\n" +
		`{"at_s":1.5,"hex":"` + text[24:71] + `"}` + "\n"
	for _, file := range []string{write(t, "bus.bin", string(raw)), write(t, "bus.json", records)} {
		code, out, errs := cli("capture", file, "--json")
		require.Zero(t, code, errs)
		require.Equal(t, card, objects(t, out)[0]["bits"])
		if strings.HasSuffix(file, "json") {
			require.Equal(t, 1.5, objects(t, out)[0]["time_s"])
		}
	}

	// A card reply of a secure channel: named, skipped, and no digits of it shown.
	secret := "53 83 1E 00 0D 02 18 50 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 A5 01 02 03 04"
	b := []byte{}
	for _, w := range strings.Fields(secret) {
		var c byte
		_, _ = fmt.Sscanf(w, "%02X", &c)
		b = append(b, c)
	}
	require.Len(t, b, 28)
	crc := uint16(0x1D0F)
	for _, c := range b {
		crc ^= uint16(c) << 8
		for range 8 {
			top := crc >> 15
			crc = crc<<1 ^ 0x1021*top
		}
	}
	secret += fmt.Sprintf(" %02X %02X", byte(crc), byte(crc>>8))
	code, out, _ = cli("capture", write(t, "secret.hex", secret))
	require.Zero(t, code)
	require.Contains(t, out, "RAW, encrypted, skipped")
	require.Contains(t, out, "address 3: 1 reply, 0 cards")
	require.Contains(t, out, "1 packet is encrypted, skipped: RAW 1×")
}

func TestCaptureDraws(t *testing.T) {
	t.Parallel()
	nasty := `D0"><script>alert(1)</script>&`
	text := strings.NewReplacer("D0", nasty, "D1", "it's\x1b[31m").Replace("time_us;D0;D1\n") +
		"0;1;1\n60000;0;1\n60150;1;1\n62000;1;0\n62050;1;1\n64000;0;1\n64050;1;1\n66000;0;1\n66050;1;1\n68000;0;1\n68050;1;1\n" +
		"70000;0;1\n70050;1;1\n72000;0;1\n72050;1;1\n74000;0;1\n74050;1;1\n76000;0;1\n76050;1;1\n130000;1;1\n"
	file := write(t, "nasty.csv", text)
	svg := filepath.Join(t.TempDir(), "read.svg")
	require.NoError(t, os.WriteFile(svg, []byte("old"), 0o640))
	code, out, errs := cli("capture", file, "--draw", svg, "--as", "csv")
	require.Zero(t, code, errs)
	require.NotContains(t, out+errs, "\x1b", "a name cannot steer the terminal")
	b, err := os.ReadFile(svg)
	require.NoError(t, err)
	if runtime.GOOS != "windows" {
		info, err := os.Stat(svg)
		require.NoError(t, err)
		require.Equal(t, os.FileMode(0o640), info.Mode().Perm(), "an existing file keeps its mode")
	}
	require.NotContains(t, string(b), "<script")
	require.NotContains(t, string(b), "\x1b")
	elements, texts := map[string]int{}, ""
	for d := xml.NewDecoder(bytes.NewReader(b)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		switch token := token.(type) {
		case xml.StartElement:
			elements[token.Name.Local]++
		case xml.CharData:
			texts += string(token)
		}
	}
	require.Equal(t, 1, elements["title"])
	require.Equal(t, 1, elements["desc"])
	require.Contains(t, texts, "The bits are 010000000.")
	require.Contains(t, texts, "pulse wider than the limit: bit 1 (150µs)")
	require.NotRegexp(t, `(fill|stroke)="(?:[^bnw]|b[^l]|w[^h]|n[^o])`, string(b), "black, white and none alone")

	_, _, _ = cli("capture", file, "--draw", svg, "--as", "csv")
	again, err := os.ReadFile(svg)
	require.NoError(t, err)
	require.Equal(t, string(b), string(again), "the same read makes the same bytes")
	left, err := os.ReadDir(filepath.Dir(svg))
	require.NoError(t, err)
	require.Len(t, left, 1, "nothing is left beside it")
}

// goodVCD holds one read, 01, and can be followed by damage.
const goodVCD = "$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n" +
	"#0 1! 1\" #60000 0! #60050 1! #62000 0\" #62050 1\" #120000\n"

const goodCSV = "time_us,D0,D1\n0,1,1\n60000,0,1\n60050,1,1\n62000,1,0\n62050,1,1\n120000,1,1\n"

// TestCaptureBadInput has every kind of bad input: the exit code, one line that says where and what, and the reads that
// came before the damage.
func TestCaptureBadInput(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, content string
		args          []string
		says          []string
		reads         int
	}{
		{"empty", "", nil, []string{"empty"}, 0},
		{"blank", " \n\n", nil, []string{"empty"}, 0},
		{"truncated header", goodVCD[:60], nil, []string{"cut short"}, 0},
		{"truncated values", goodVCD + "b0", nil, []string{"line 3", "cut short"}, 1},
		{"truncated row", goodCSV + "130000,1", nil, []string{"line 8", "2 cells"}, 1},
		{"binary junk", "\x00\x01\x02\xff\xfe\x80junk\x00", nil, []string{"11 bytes and no packet"}, 0},
		{"binary junk after a read", goodVCD + "\x00\x01\xff", nil, []string{"line 3", "neither a time"}, 1},
		{"UTF-16", "\xff\xfet\x00i\x00m\x00e\x00", nil, []string{"UTF-16"}, 0},
		{"endless token", goodVCD + strings.Repeat("1", 1<<20), nil, []string{"line 3", "longer than 65536"}, 1},
		{"endless line", goodCSV + strings.Repeat("1", 1<<20), nil, []string{"line 8", "longer than 65536"}, 1},
		{"endless hex", "53 80 08 00 01 4B 01 D8\n" + strings.Repeat("5", 1<<20), nil,
			[]string{"line 2", "longer than 65536"}, 0},
		{"time backwards", goodVCD + "#7\n", nil, []string{fmt.Sprintf("line 3 (byte %d)", len(goodVCD)), `"#7"`,
			"backwards"}, 1},
		{"time backwards in CSV", goodCSV + "7,1,1\n", nil, []string{"line 8", "backwards"}, 1},
		{"undeclared identifier", goodVCD + "#130000 1%\n", nil, []string{"line 3", `"%" was not declared`}, 1},
		{"real signals alone", "$timescale 1us $end $var real 64 ! V0 $end $var real 64 \" V1 $end $enddefinitions $end\n",
			nil, []string{`"V0": is of real numbers`, "digital"}, 0},
		{"real value", goodVCD + "r3.3 !\n", nil, []string{"line 3", "digital"}, 1},
		{"a voltage that is none in CSV", "time_s,A,B\n0,3.31,3.30\n1,3.3,?V\n", nil, []string{"line 3", "not a level"}, 0},
		{"no rate", "D0,D1\n1,1\n", nil, []string{"line 2", "what the rate is", "--rate"}, 0},
		{"two readers", "time_us,a0,a1,b0,b1\n0,1,1,1,1\n9,0,1,1,1\n99,1,1,0,1\n", nil,
			[]string{"2 readers", "--d0 a0 --d1 a1, or --d0 b0 --d1 b1"}, 0},
		{"wrong names", goodVCD, []string{"--d0", "D0", "--d1", "d11"}, []string{`"d11"`, "there are: D1, D0"}, 0},
		{"wrong name in CSV", "time_us,green,white,lock\n0,1,1,1\n", []string{"--d0", "gren", "--d1", "white"},
			[]string{"there are: green, lock, white"}, 0},
		{"no unit", "time,D0,D1\n0,1,1\n", nil, []string{"line 2", "s, ms, us or ns", "--unit"}, 0},
		{"odd hex", "53 8", []string{"--as", "hex"}, []string{"line 1", "odd number"}, 0},
		{"broken JSON", "{\"data\":\"53\n", nil, []string{"line 1", "JSON"}, 0},
		{"not that form", goodCSV, []string{"--as", "vcd"}, []string{"line 1", "no VCD"}, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			file := write(t, "in", c.content)
			code, out, errs := cli(append([]string{"capture", file, "--json", "--quiet"}, c.args...)...)
			require.Equal(t, exitUsage, code, errs)
			require.Equal(t, 1, strings.Count(errs, "\n"), "one line: %q", errs)
			require.True(t, strings.HasPrefix(errs, "cardtell: "+file+": "), errs)
			require.Less(t, len(errs), 500)
			for _, s := range c.says {
				require.Contains(t, errs, s)
			}
			require.Len(t, objects(t, out), c.reads, "what came before the damage is printed")
			_, text, _ := cli(append([]string{"capture", file}, c.args...)...)
			require.Equal(t, c.reads, strings.Count(text, "\n#"))
		})
	}
}

func TestCaptureUsage(t *testing.T) {
	t.Parallel()
	file, odd := write(t, "good.vcd", goodVCD), write(t, "odd.svg", goodVCD)
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{nil, exitUsage, "no recording given"},
		{[]string{"a", "b"}, exitUsage, "name one at a time"},
		{[]string{file + "x"}, exitFile, "no such file"},
		{[]string{filepath.Dir(file)}, exitFile, "is a folder; name a file in it"},
		{[]string{file, "--as", "png"}, exitUsage, "vcd, csv, hex, binary, json-lines"},
		{[]string{file, "--gap", "1us"}, exitUsage, "too short"},
		{[]string{file, "--gap", "soon"}, exitUsage, "is not a time"},
		{[]string{file, "--glitch", "1s"}, exitUsage, "less than the gap"},
		{[]string{file, "--draw", "x.svg", "--read", "0"}, exitUsage, "numbered from 1"},
		{[]string{file, "--read", "3", "--draw", file + ".svg"}, exitUsage, "has 1 read"},
		{[]string{odd, "--draw", odd}, exitUsage, "would overwrite"},
		{[]string{file, "--draw", filepath.Join(file, "x", "y.svg"), "--show-pins"}, exitFile, "y.svg: not a directory"},
		{[]string{file, "--unit", "fortnights", "--as", "csv"}, exitUsage, "fortnights"},
		{[]string{file, "--make", "26:1", "-o", "x"}, exitUsage, "takes no FILE"},
		{[]string{"--make", "26:1"}, exitUsage, "no output; give -o"},
		{[]string{"--make", "0101", "-o", "-"}, exitUsage, "write bits:0101"},
		{[]string{"--make", "26:FFFFFFF", "-o", "-"}, exitUsage, "more than 26 bits"},
		{[]string{"--make", "bits:", "-o", "-"}, exitUsage, "a read without bits"},
		{[]string{"--make", ";12", "-o", "-"}, exitUsage, "begins with ; and ends with ?"},
		{[]string{"--make", "26:1", "--make", ";1?", "-o", "-"}, exitUsage, "of two wires or of clock and data"},
		{[]string{"--make", "26:1", "--lose", "27", "-o", "-"}, exitUsage, "bits 1 to 26"},
		{[]string{"--make", "26:1", "--jitter", "101", "-o", "-"}, exitUsage, "percent"},
		{[]string{"--make", "26:1", "--repeat", "0", "-o", "-"}, exitUsage, "--repeat"},
		{[]string{"--make", "26:1", "-o", filepath.Join(file, "x.vcd")}, exitFile, "x.vcd: not a directory"},
	} {
		code, _, errs := cli(append([]string{"capture"}, c.args...)...)
		require.Equal(t, c.code, code, "%v: %s", c.args, errs)
		require.Contains(t, errs, c.says, "%v", c.args)
	}
}

func TestCaptureWithoutReads(t *testing.T) {
	t.Parallel()
	head := "time_us,D0,D1\n"
	for text, says := range map[string]string{
		head + "0,1,1\n900000,1,1\n":                                "neither wire has a pulse",
		head + "0,1,0\n900000,1,0\n":                                "DATA1 stays low",
		head + "0,1,1\n60000,0,1\n60005,1,1\n900000,1,1\n":          "every pulse is shorter than 10µs",
		"# bus\n53 00 08 00 04 60 EB AA\n53 00 08 00 04 60 EB AA\n": "commands and no reply",
	} {
		code, out, errs := cli("capture", write(t, "none", text))
		require.Equal(t, exitNo, code, errs)
		require.Contains(t, strings.Join(strings.Fields(out), " "), says)
		require.Empty(t, errs)
	}
}

// TestCaptureLive feeds standard input bit by bit: each read must come out while the input is still open.
func TestCaptureLive(t *testing.T) {
	t.Parallel()
	for name, parts := range map[string][]string{
		"VCD": {"$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n#0 1! 1\"\n",
			"#60000 0!\n#60050 1!\n#62000 0\"\n#62050 1\"\n", "#900000 0\"\n#900050 1\"\n#902000 0!\n#902050 1!\n"},
		"CSV": {"time_us,D0,D1\n0,1,1\n", "60000,0,1\n60050,1,1\n62000,1,0\n62050,1,1\n",
			"900000,1,0\n900050,1,1\n902000,0,1\n902050,1,1\n"},
		"bus": {"53 00 08 00 04 60 EB AA\n", "53 80 10 00 05 50 00 01 1A 00 EA 0D C0 80 6D 4B\n",
			"53 81 11 00 06 50 00 01 25 00 18 1C 9E 24 08 88 02\n"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			in, feed := io.Pipe()
			printed, out := io.Pipe()
			done := make(chan int, 1)
			go func() {
				done <- run([]string{"capture", "-", "--json", "--quiet", "--show-pins"}, in, out, io.Discard)
				_ = out.Close()
			}()
			lines := make(chan string)
			go func() {
				defer close(lines)
				for d := json.NewDecoder(printed); ; {
					var e reads.Entry
					if d.Decode(&e) != nil {
						return
					}
					lines <- e.Bits
				}
			}()
			want := [][]string{nil, {"01", "10"}, {card, "0001100000011100100111100010010000001"}}[min(2,
				1+strings.Count(name, "bus"))]
			_, err := io.WriteString(feed, parts[0])
			require.NoError(t, err)
			for i, part := range parts[1:] {
				_, err := io.WriteString(feed, part)
				require.NoError(t, err)
				select {
				case got := <-lines:
					require.Equal(t, want[i], got)
				case <-time.After(20 * time.Second):
					t.Fatal("no read while the input is open")
				}
			}
			require.NoError(t, feed.Close())
			require.Zero(t, <-done)
			_, more := <-lines
			require.False(t, more)
		})
	}
}

// A reader that sends the keys of its keypad as raw bits (SIA OSDP, reply RAW with 4 and 8 bits) hides them like any
// others.
func TestCaptureHidesKeysSentAsRawBits(t *testing.T) {
	bus := write(t, "bus.hex", "53 80 0D 00 04 50 00 00 04 00 50 7E CC\n53 80 0D 00 04 50 00 00 08 00 A5 A5 06\n")
	for _, args := range [][]string{{}, {"--json"}, {"--same"}, {"--identify"}} {
		_, out, errs := cli(append([]string{"capture", bus}, args...)...)
		require.NotContains(t, out+errs, "0101", "%v", args)
		require.NotContains(t, out+errs, "4:5", "%v", args)
	}
	_, out, errs := cli("capture", bus)
	require.Contains(t, out+errs, "--show-pins shows it")
	require.Contains(t, out+errs, "0 cards, 2 keypad entries")
	_, out, _ = cli("capture", bus, "--show-pins")
	require.Contains(t, out, "keypad key 5")
}
