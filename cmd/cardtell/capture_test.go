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

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
)

// card is facility 212, number 7041, a published 26-bit example.
const card = "11101010000011011100000010"

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
}

// The codings of keys are common practice, no source.
func TestCaptureKeys(t *testing.T) {
	t.Parallel()
	for bits, key := range map[string]string{
		"0101": "5", "1011": "#", "1100": "", "10000111": "7", "10001111": "" /* 7, with a wrong complement */, "01011010": "*",
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
		{"a head in wide letters", "\xff\xfet\x00i\x00m\x00e\x00", nil, []string{"\"time\": no row of data"}, 0},
		{"damage and names that tell nothing", strings.NewReplacer(" D0", " A", " D1", " B", "$enddef",
			"$var wire 1 ~ C $end $enddef").Replace(goodVCD) + "#130000 #x\n", nil, []string{"line 3", `"#x"`}, 0},
		{"endless token", goodVCD + strings.Repeat("1", 1<<20), nil, []string{"line 3", "longer than 65536"}, 1},
		{"endless line", goodCSV + strings.Repeat("1", 1<<20), nil, []string{"line 8", "longer than 65536"}, 1},
		{"endless hex", "53 80 08 00 01 4B 01 D8\n" + strings.Repeat("5", 1<<20), nil,
			[]string{"line 2", "longer than 65536"}, 0},
		{"time backwards", goodVCD + "#7\n", nil, []string{fmt.Sprintf("line 3 (byte %d)", len(goodVCD)), `"#7"`,
			"backwards"}, 1},
		{"time backwards in CSV", goodCSV + "7,1,1\n", nil, []string{"line 8", "backwards"}, 1},
		{"undeclared identifier", goodVCD + "#130000 1%\n", nil, []string{"line 3", `"%" was not declared`}, 1},
		{"bits and voltages", "$timescale 1us $end $var real 64 ! V0 $end $var wire 1 \" V1 $end $enddefinitions $end\n",
			nil, []string{`"V1": one wire has bits and the other one voltages`, "record both alike"}, 0},
		{"real value", goodVCD + "r3.3 !\n", nil, []string{"line 3", "not a value of the kind that was declared"}, 1},
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
