package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/reads"
)

// recorded writes a recording of reads, one every half second, as VCD: pulses of 50 µs, 2 ms apart. A "-" in a read is
// a pulse that is lost. It shares no code with the program.
func recorded(reads ...string) string {
	var b strings.Builder
	b.WriteString("$timescale 1us $end $var wire 1 ! D0 $end $var wire 1 \" D1 $end $enddefinitions $end\n#0 1! 1\"\n")
	for i, read := range reads {
		for k, bit := range read {
			at := 500000*(i+1) + 2000*k
			if wire, ok := map[rune]string{'0': "!", '1': `"`}[bit]; ok {
				fmt.Fprintf(&b, "#%d 0%s #%d 1%s\n", at, wire, at+50, wire)
			}
		}
	}
	fmt.Fprintf(&b, "#%d\n", 500000*(len(reads)+1))
	return b.String()
}

// Reads of the 26-bit format by SIA AC-01-1996.10, even parity before and odd behind: facility 121, numbers 17, 43 and
// 1050 of Harbour Row Workshops, and the published example of another site, facility 212 and number 7041.
const (
	staff17   = "10111100100000000000100011"
	staff43   = "10111100100000000001010111"
	staff1050 = "10111100100000100000110101"
	stranger  = card
)

const harbourRow = "../../testdata/demo/site.toml"

// lines returns the lines of a file.
func linesOf(t *testing.T, name string) []string {
	t.Helper()
	b, err := os.ReadFile(name)
	require.NoError(t, err)
	return strings.Split(strings.TrimSpace(strings.ReplaceAll(string(b), "\r\n", "\n")), "\n")
}

func TestCaptureList(t *testing.T) {
	t.Parallel()
	lost := staff1050[:6] + "-" + staff1050[7:]
	file := write(t, "box.vcd", recorded(staff17, staff43, lost, staff1050, staff17, "0101", stranger))
	out := filepath.Join(t.TempDir(), "cards.csv")
	code, text, errs := cli("capture", file, "--list", out, "--site", harbourRow)
	require.Equal(t, exitNo, code, "a bad read is in the rejects")
	// 121*65536 + 17 = 7929873 = 0x790011, and so on (own arithmetic).
	require.Equal(t, []string{
		"card,at_s,read,format,facility,number,printed,North stair,Yard gate,Print room,remark",
		`1,0.500,26:2F20023,26-8-16,121,17,"121,00017","121,00017",0007929873,790011,`,
		`2,1.000,26:2F20057,26-8-16,121,43,"121,00043","121,00043",0007929899,79002B,`,
		`3,2.000,26:2F20835,26-8-16,121,1050,"121,01050","121,01050",0007930906,79041A,`,
		"4,3.500,26:3A83702,,,,,,,,none of the site's cards",
	}, linesOf(t, out))
	rejects := linesOf(t, out+".rejects.csv")
	require.Len(t, rejects, 3)
	require.Equal(t, "at_s,read,why", rejects[0])
	require.Regexp(t, `^1\.500,25:\w+,bad read: a pulse may be missing just before this one .*: bit 7 \(4ms\)$`,
		rejects[1])
	require.Equal(t, "2.500,26:2F20023,double: the same as card 1", rejects[2])
	require.Contains(t, errs, "cards.csv has 4 cards; 1 double and 1 bad read, in ")
	for _, says := range []string{"list: card 1\n", "list: card 4\n", "list: card 1 again\n",
		"list: bad read, present the card again\n"} {
		require.Contains(t, text, says)
	}

	// Without a site, the reads; what came twice is no fault of anybody's. The rejects of the run before are not left
	// there.
	require.NoError(t, os.WriteFile(file, []byte(recorded(staff17, staff17, stranger)), 0o600))
	code, text, _ = cli("capture", file, "--list", out, "--json")
	require.Zero(t, code)
	require.Equal(t, []string{"card,at_s,read,remark", "1,0.500,26:2F20023,", "2,1.500,26:3A83702,"}, linesOf(t, out))
	require.Len(t, linesOf(t, out+".rejects.csv"), 2)
	got := objects(t, text)
	require.Equal(t, []any{1.0, 1.0, 2.0}, []any{got[0]["row"], got[1]["row"], got[2]["row"]})
	require.Equal(t, true, got[1]["double"])
	require.NoError(t, os.WriteFile(file, []byte(recorded(staff17)), 0o600))
	code, _, _ = cli("capture", file, "--list", out)
	require.Zero(t, code)
	require.Equal(t, []string{"at_s,read,why"}, linesOf(t, out+".rejects.csv"))

	// The list can be read back and converted: it is for import.
	code, text, errs = cli("batch", out, "-c", "read", "--from", "bits-hex", "--format", "26-8-16", "--to",
		"pair", "-o", "-")
	require.Zero(t, code, errs)
	require.Contains(t, text, "121,00017")

	book := filepath.Join(t.TempDir(), "cards.xlsx")
	code, _, errs = cli("capture", file, "--list", book, "--site", harbourRow)
	require.Zero(t, code, errs)
	r, err := list.Open(book, list.Options{})
	require.NoError(t, err)
	defer r.Close()
	_, err = r.Next()
	require.NoError(t, err)
	row, err := r.Next()
	require.NoError(t, err)
	require.Equal(t, "0007929873", row.Text(8), "zeros are kept")
}

// A card that two populations of the site can have is not guessed: the read of 34 bits is published as facility 12345,
// number 54321 in public operating-system drivers, and is a number of 32 bits as well. A form that a card cannot have
// is said.
func TestCaptureListDoubt(t *testing.T) {
	t.Parallel()
	site := write(t, "site.toml", `name = "Harbour Row Workshops"
[[cards]]
format = "34-16-16"
[[cards]]
format = "34-0-32"
[[doors]]
name = "=Gate"
enter = "pair"
`)
	file := write(t, "box.vcd", recorded("0001100000011100111010100001100010"))
	out := filepath.Join(t.TempDir(), "cards.csv")
	code, _, errs := cli("capture", file, "--list", out, "--site", site)
	require.Zero(t, code, errs)
	got := linesOf(t, out)
	require.Equal(t, `card,at_s,read,format,facility,number,printed,'=Gate,remark`, got[0], "no formula")
	require.Equal(t, "1,0.500,34:06073A862,,,,,,can be one of 2 of the site's cards", got[1])
	code, _, errs = cli("capture", write(t, "26.vcd", recorded(staff17)), "--list", out, "--site", site)
	require.Zero(t, code, errs)
	require.Contains(t, linesOf(t, out)[1], "none of the site's cards")
	// 12345*65536 + 54321 = 809096241 (own arithmetic)
	code, _, errs = cli("capture", file, "--list", out, "--site", harbourRow)
	require.Zero(t, code, errs)
	require.Equal(t, "1,0.500,34:06073A862,34-0-32,,809096241,0809096241,,0809096241,3039D431,this card cannot be written as pair", linesOf(t, out)[1])
}

func TestCaptureListRefuses(t *testing.T) {
	t.Parallel()
	file := write(t, "box.vcd", recorded(staff17))
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"--list", "-"}, exitUsage, "name a file"},
		{[]string{"--list", file}, exitUsage, "box.vcd"},
		{[]string{"--list", filepath.Join(file, "x.csv")}, exitFile, "not a directory"},
		{[]string{"--list", "x.csv", "--same"}, exitUsage, "no effect beside --same"},
		{[]string{"--list", "x.csv", "--site", file}, exitUsage, "box.vcd"},
	} {
		code, _, errs := cli(append([]string{"capture", file}, c.args...)...)
		require.Equal(t, c.code, code, "%v %s", c.args, errs)
		require.Contains(t, errs, c.says)
	}
	kept, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Equal(t, recorded(staff17), string(kept))

	// Nothing read: the list of yesterday stays.
	old := write(t, "cards.csv", "yesterday\n")
	code, _, errs := cli("capture", write(t, "none.vcd", recorded(staff17[:6]+"-"+staff17[7:])), "--list", old)
	require.Equal(t, exitNo, code)
	require.Contains(t, errs, "is not written")
	require.Equal(t, []string{"yesterday"}, linesOf(t, old))
	require.NoFileExists(t, old+".rejects.csv")

	// A recording that is damaged further on: the cards before are in the list.
	code, _, errs = cli("capture", write(t, "torn.vcd", recorded(staff17, staff43)+"#1\n"), "--list", old)
	require.Equal(t, exitUsage, code)
	require.Contains(t, errs, "backwards")
	require.Len(t, linesOf(t, old), 3)
}

// Cards of a reader bus, from two readers; what is typed at a keypad is no card.
func TestCaptureListOfABus(t *testing.T) {
	t.Parallel()
	text := `{"at_s":1.25,"hex":"53 80 10 00 05 50 00 01 1A 00 EA 0D C0 80 6D 4B"}
{"at_s":2.5,"hex":"53 81 11 00 06 50 00 01 25 00 18 1C 9E 24 08 88 02"}
{"at_s":3,"hex":"53 80 0F 00 05 53 00 05 31 32 33 34 0D 7B 38"}
`
	out := filepath.Join(t.TempDir(), "cards.csv")
	_, _, errs := cli("capture", write(t, "bus.json", text), "--list", out)
	got := linesOf(t, out)
	require.Equal(t, []string{"1,1.250,26:3A83702,", "2,2.500,37:030393C481,"}, got[1:], errs)
	require.NotContains(t, strings.Join(got, "\n"), "1234")
}

// Live: each card has its row while the others are still to come; the file is there, whole, when the line ends.
func TestCaptureListLive(t *testing.T) {
	t.Parallel()
	out := filepath.Join(t.TempDir(), "cards.csv")
	in, feed := io.Pipe()
	printed, writer := io.Pipe()
	done := make(chan int, 1)
	go func() {
		done <- run([]string{"capture", "-", "--list", out, "--site", harbourRow, "--json", "--quiet"}, in, writer,
			io.Discard)
		_ = writer.Close()
	}()
	rows := make(chan reads.Entry)
	go func() {
		for d := json.NewDecoder(printed); ; {
			var e reads.Entry
			if d.Decode(&e) != nil {
				return
			}
			rows <- e
		}
	}()
	whole := recorded(staff17, staff43, staff43, staff1050)
	from := 0
	for i, want := range []int{1, 2, 2, 3} {
		to := len(whole)
		if next := strings.Index(whole, fmt.Sprintf("#%d 0", 500000*(i+2))); next > 0 {
			to = next
		}
		_, err := io.WriteString(feed, whole[from:to])
		require.NoError(t, err)
		from = to
		select {
		case e := <-rows:
			require.Equal(t, want, e.Row)
			require.Equal(t, i == 2, e.Double)
		case <-time.After(20 * time.Second):
			t.Fatal("no row while the line is open")
		}
		require.NoFileExists(t, out)
	}
	require.NoError(t, feed.Close())
	require.Zero(t, <-done)
	require.Len(t, linesOf(t, out), 4)
	require.Len(t, linesOf(t, out+".rejects.csv"), 2)
}
