package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// result is what a command line did.
type result struct {
	code     int
	out, err string
}

// do runs a command line in this process, with a text as standard input.
func do(line, stdin string) result {
	var out, errw bytes.Buffer
	code := run(split(line), strings.NewReader(stdin), &out, &errw)
	return result{code, out.String(), errw.String()}
}

// Wrong input: exit 2, one line on standard error that says where, what and what would do, nothing on standard output.
func TestBadInput(t *testing.T) {
	definition := write(t, "own.toml", "[[format]]\nid = \"x\"\ndescription = \"y\"\nlength = 8\nfields = [{ name = \"number\", bits = \"1-7\" }]\n")
	unknownKey := write(t, "key.toml", "[[format]]\nid = \"x\"\nlenth = 8\n")
	empty := write(t, "empty.txt", "# nothing\n\n")
	long := write(t, "long.txt", "26:32D687E\n"+strings.Repeat("1", 70000)+"\n")
	for _, test := range []struct{ line, says string }{
		{"identify", "no cards; write one"},
		{"identify 26:FFFFFFFF", "needs more than 26 bits"},
		{"identify 26:CB5A1F80", "left:26:CB5A1F80"},
		{"identify left:26:CB5A1FFF", "a bit after the first 26 is set"},
		{"identify left:26:CB5A1F8", "7 hex digits are not whole bytes"},
		{"identify bits:10012", "character 10 is '2'"},
		{"identify uid:04A2", "a chip serial has 4, 5, 7, 8 or 10"},
		{"identify uid:04A", "3 hex digits are not whole bytes"},
		{"identify hex:XYZ", "character 1 is 'X'"},
		{"identify rubbish", "can be no card; write digits as printed"},
		{"identify 257:F", "at most 256"},
		{"identify bits:" + strings.Repeat("10", 129), "more than 256 bits"},
		{"identify 26:32D687E=37:0303913C81", "two different reads of one card"},
		{"identify --top 0 26:32D687E", "--top 0"},
		{"identify --file " + empty, "no cards in it"},
		{"identify --each --file " + empty, "no cards in it"},
		{"relate 1=2 --rule 99 -o x.toml", "--rule 99: there is no such rule; write 1 to "},
		{"relate 1=2 -o -", "-o -: the answer goes to standard output"},
		{"learn ../../testdata/demo/barrier.txt -o -", "-o -: the answer goes to standard output"},
		{"learn ../../testdata/demo/barrier.txt -o x.toml --id 26-8-16",
			"--id 26-8-16: is a format already, which --formats would replace"},
		{"learn ../../testdata/demo/barrier.txt -o x.toml --id Our_gate",
			`--id "Our_gate": an id is lower-case letters and digits`},
		{"identify --file " + long, ":2: a line of more than 4096 bytes"},
		{"identify --formats " + definition + " 1", "bits 8 are claimed by nothing"},
		{"identify --formats " + unknownKey + " 1", `key.toml:3: no such key "format.lenth"`},
		{"convert 1,2 --from pair", "--to: no form"},
		{"convert 5 --from nummer --to pair", "nearest: number"},
		{"convert 5 --from number --to pair --format 26-8-17", "nearest: 26-8-16"},
		{"convert 70000 --from number --to pair --format 26-8-16 --facility 1", "does not fit 16 bits: 0 to 65535"},
		{"convert 1 --from number --to pair --format 26-8-16 --facility 256", "does not fit 8 bits: 0 to 255"},
		{"convert 1 --from number --to pair --format 26-8-16", "needs the facility as well; give it with --facility"},
		{"convert 46143 --from number --to bits", "needs the facility as well"},
		{"convert 1 --from number --to pair --format 37-0-35", "has no facility and number to pair"},
		{"convert 26:32D687F --from bits --to pair --format 26-8-16", "present the card again"},
		{"convert 25:0 --from bits --to pair --format 26-8-16", "has 25 bits; format 26-8-16 has 26"},
		{"convert --from pair --to number", "no values"},
		{"convert 1,2 --from pair --door X", "doors are in a site file; give --site FILE"},
		{"formats show 26-8-17", "nearest: 26-8-16"},
		{"formats check " + definition, "own.toml:2"},
		{"identiffy 1", "identify"},
		{"identify --topp 1", "--topp: no such option; nearest: --top"},
	} {
		r := do(test.line, "")
		assert.Equal(t, exitUsage, r.code, test.line)
		assert.Empty(t, r.out, test.line)
		assert.Contains(t, r.err, test.says, test.line)
		assert.True(t, strings.HasPrefix(r.err, "cardtell: "), r.err)
		assert.Equal(t, 1, strings.Count(r.err, "\n"), "one line: %q", r.err)
	}
}

// Files that can't be read: exit 3.
func TestBadFiles(t *testing.T) {
	for _, line := range []string{
		"identify --file " + t.TempDir(),
		"identify --file " + filepath.Join(t.TempDir(), "none.txt"),
		"identify --formats " + filepath.Join(t.TempDir(), "none.toml") + " 1",
		"identify --site " + filepath.Join(t.TempDir(), "none.toml") + " 1",
		"formats check " + filepath.Join(t.TempDir(), "none.toml"),
	} {
		r := do(line, "")
		assert.Equal(t, exitFile, r.code, "%s: %s", line, r.err)
		assert.Empty(t, r.out)
		assert.Equal(t, 1, strings.Count(r.err, "\n"), r.err)
	}
}

// The answer no: exit 1, and the answer is on standard output.
// No output takes the place of a file that the command has read: that one may be the only copy.
func TestOutputIsNoInput(t *testing.T) {
	cards := write(t, "cards.txt", read(t, "../../testdata/demo/barrier.txt"))
	list := write(t, "list.csv", "Name,Card\nAnn,\"121,43\"\n")
	site := write(t, "site.toml", siteText)
	rule := write(t, "rule.toml", "version = 1\nfrom = { form = \"decimal\" }\nto = { form = \"hex\" }\n")
	drawer := write(t, "drawer.svg", "26:2F20023\n")
	for _, args := range [][]string{
		{"learn", cards, "-o", cards},
		{"batch", list, "-c", "Card", "--site", site, "--door", "North", "-o", site},
		{"batch", list, "-c", "Card", "--rule", rule, "-o", rule},
		{"draw", "--file", drawer, "-o", drawer},
	} {
		name := args[len(args)-1]
		before := read(t, name)
		code, _, stderr := cli(args...)
		assert.Equal(t, 2, code, "%v: %s", args, stderr)
		assert.Contains(t, stderr, "a file that is read; write to another one", "%v", args)
		assert.Equal(t, before, read(t, name))
	}
}

func TestAnswerNo(t *testing.T) {
	r := do("identify 27:1234567 27:2345671 27:3456712 27:4567123", "")
	assert.Equal(t, exitNo, r.code)
	assert.Contains(t, r.out, "none of these")
	assert.Empty(t, r.err)
}

// Cards of several makers: no one format fits all, and each length is answered by itself.
func TestSeveralKindsOfOneLength(t *testing.T) {
	t.Parallel()
	const box = "identify 26:2F20023=121,00017 26:2B13883=5807169 26:2F20057=121,00043 26:2B13885=5807170 26:2F201A9=121,00212 26:2B1388F=5807175"
	r := do(box, "")
	assert.Equal(t, exitDone, r.code)
	assert.Contains(t, r.out, "These are cards of 2 kinds (>99.9 %), by format, facility, print or wiring. Each\nby itself:")
	assert.Contains(t, r.out, "26 bits: 3 cards (as given: 1 3 5)")
	assert.Contains(t, r.out, "26 bits: 3 cards (as given: 2 4 6)")
	assert.NotContains(t, r.out, "in doubt")
	var doc identifyJSON
	require.NoError(t, json.Unmarshal([]byte(do(box+" --json", "").out), &doc))
	require.Len(t, doc.Populations, 2)
	assert.Equal(t, []int{2, 4, 6}, doc.Populations[1].Given)
	assert.Equal(t, "26-8-16", doc.Populations[0].Candidates[0].Format)
	assert.Equal(t, "26-0-24", doc.Populations[1].Candidates[0].Format)
	assert.Greater(t, doc.Several, 0.999)
	assert.Empty(t, doc.Doubtful)

	// The same for a program that embeds this one.
	served := do("serve --stdio", `{"do":"identify","cards":["`+strings.Join(strings.Fields(strings.TrimPrefix(box,
		"identify ")), `","`)+`"]}`+"\n")
	assert.Contains(t, served.out, `"populations":[`)
	assert.Contains(t, served.out, `"given":[2,4,6]`)
}

// Two orders of the published 26-bit format (SIA AC-01-1996.10), each of one facility with a box of its own numbers,
// and no print: that is as good a reading as one long number without a facility, in two boxes. So what is stated is
// near the weights of the two formats in the catalogue, 100 to 8, and never a certainty; two prints settle it.
func TestTwoFacilitiesWithoutPrints(t *testing.T) {
	t.Parallel()
	args := []string{"--json"}
	for i := range 10 {
		for _, card := range []string{fmt.Sprintf("58,%d", 20411+37*i), fmt.Sprintf("143,%d", 3702+29*i)} {
			bits := do("convert "+card+" --from pair --to bits-hex --format 26-8-16", "")
			require.Equal(t, exitDone, bits.code, bits.err)
			args = append(args, strings.TrimSpace(bits.out))
		}
	}
	var doc identifyJSON
	require.NoError(t, json.Unmarshal([]byte(do("identify "+strings.Join(args, " "), "").out), &doc))
	require.Empty(t, doc.Populations)
	require.GreaterOrEqual(t, len(doc.Candidates), 2)
	assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
	assert.InDelta(t, 100.0/108, doc.Candidates[0].Probability, 0.07)
	assert.Equal(t, "26-0-24", doc.Candidates[1].Format)

	args[1], args[2] = args[1]+"=20411", args[2]+"=3702"
	require.NoError(t, json.Unmarshal([]byte(do("identify "+strings.Join(args, " "), "").out), &doc))
	assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
	assert.Greater(t, doc.Candidates[0].Probability, 0.999)
}

// A card of which there is no print, in numbers that both kinds could have, is said to be in doubt.
func TestDoubtfulKind(t *testing.T) {
	t.Parallel()
	r := do("identify 26:2F20023=121,00017 26:2F20057=7929899 26:2F201A9=121,00212 26:2F2027D=7930174 26:2F20325", "")
	assert.Contains(t, r.out, "These are cards of 2 kinds")
	assert.Contains(t, r.out, "which kind these cards are of is in doubt: 5 (as given)")
}

// Where many cards are in doubt they are counted, and it is said why and what to do: their prints may be known already.
func TestManyDoubtful(t *testing.T) {
	t.Parallel()
	args := "identify"
	for i := range 101 {
		args += fmt.Sprintf(" %s=%d", strings.TrimSpace(do(fmt.Sprintf("convert 58,%d --from pair --to bits-hex --format 26-8-16", 20411+i), "").out), 20411+i)
		args += fmt.Sprintf(" %s=%d", strings.TrimSpace(do(fmt.Sprintf("convert %d --from number --to bits-hex --format 26-0-24", 9120411+i), "").out), 9120411+i)
	}
	r := do(args, "")
	assert.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "These are cards of 2 kinds (>99.9 %)")
	assert.Contains(t, r.out, "26 bits: 101 cards (as given: 1 3 5")
	assert.Contains(t, r.out, "Take care: 202 cards were not tried in the other kind one by one")
}

func TestSeveralPopulations(t *testing.T) {
	const line = "identify 26:2F20023 37:00FAC09C57=20011 26:2F20057 37:00FAC09C58"
	r := do(line, "")
	assert.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "26 bits: 2 cards (as given: 1 3)")
	assert.Contains(t, r.out, "37 bits: 2 cards (as given: 2 4)")
	r = do(line+" --json", "")
	var doc identifyJSON
	require.NoError(t, json.Unmarshal([]byte(r.out), &doc))
	require.Len(t, doc.Populations, 2)
	assert.Greater(t, doc.Unknown, 0.99)
	assert.Equal(t, "26-8-16", doc.Populations[0].Candidates[0].Format)
	assert.Equal(t, "37-16-19", doc.Populations[1].Candidates[0].Format)
	assert.Equal(t, []int{2, 4}, doc.Populations[1].Given)
}

// identify --json keeps to its keys, and its probabilities add up to 1.
func TestIdentifyJSON(t *testing.T) {
	r := do("identify --json --top 1 26:32D687E 26:32D6882=46145", "")
	require.Equal(t, exitDone, r.code, r.err)
	var doc struct {
		Reads []struct {
			Bits, Printed string
			Length        int
		}
		Candidates []struct {
			Format, Description, Fault string
			Probability                float64
			Cards                      []struct {
				Facility, Number string
				Fields, Forms    map[string]string
				Checks           []struct {
					Kind, Bits string
					OK         bool
				}
			}
		}
		Unknown, Others float64
	}
	require.NoError(t, json.Unmarshal([]byte(r.out), &doc))
	require.Len(t, doc.Reads, 2)
	assert.Equal(t, "11001011010110100001111110", doc.Reads[0].Bits)
	assert.Equal(t, 26, doc.Reads[0].Length)
	assert.Equal(t, "46145", doc.Reads[1].Printed)
	require.Len(t, doc.Candidates, 1)
	c := doc.Candidates[0]
	assert.InDelta(t, 1, c.Probability+doc.Unknown+doc.Others, 1e-9)
	assert.Equal(t, "26-8-16", c.Format)
	assert.Equal(t, "none", c.Fault)
	// The card of facility 150, number 46143: arithmetic of the published 26-bit frame, 150·65536+46143 = 9876543.
	require.Len(t, c.Cards, 2)
	card := c.Cards[0]
	assert.Equal(t, "150", card.Facility)
	assert.Equal(t, "46143", card.Number)
	assert.Equal(t, map[string]string{"facility": "150", "number": "46143"}, card.Fields)
	assert.Equal(t, "150,46143", card.Forms["pair"])
	assert.Equal(t, "9876543", card.Forms["decimal"])
	require.Len(t, card.Checks, 2)
	assert.Equal(t, "even", card.Checks[0].Kind)
	assert.Equal(t, "1-13", card.Checks[0].Bits)
	assert.True(t, card.Checks[0].OK)
}

// identify --each answers every line in order, whatever the number of workers, and accounts for the bad ones.
func TestIdentifyEach(t *testing.T) {
	var in strings.Builder
	const n = 3000
	for i := range n {
		switch {
		case i%1000 == 500:
			in.WriteString("rubbish\n")
		case i%7 == 0:
			in.WriteString("# a remark\n")
		default:
			in.WriteString("26:32D687E\n")
		}
	}
	text := do("identify --each --file -", in.String())
	assert.Equal(t, exitUsage, text.code)
	assert.Equal(t, 3, strings.Count(text.err, "rubbish"), text.err)
	docs := do("identify --each --json --file -", in.String())
	last, good, bad := 0, 0, 0
	for line := range strings.Lines(docs.out) {
		var doc struct {
			Line       int
			Error      string
			Candidates []struct{ Format string }
		}
		require.NoError(t, json.Unmarshal([]byte(line), &doc))
		assert.Greater(t, doc.Line, last)
		last = doc.Line
		if doc.Error != "" {
			bad++
		} else {
			good++
			assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
		}
	}
	remarks := 0
	for i := range n {
		if i%7 == 0 && i%1000 != 500 {
			remarks++
		}
	}
	assert.Equal(t, n, good+bad+remarks)
	assert.Equal(t, good, strings.Count(text.out, "\n"))
}

// A card of identify --each that is at fault is named by where it came from, and has its line in the JSON whatever the
// fault.
func TestIdentifyEachNamesTheBad(t *testing.T) {
	cards := write(t, "cards.txt", "26:32D687E\n\n26:32D687E=26:32D687F\nrubbish\n")
	r := do("identify --each 26:2F20023 bad --file "+cards, "")
	assert.Equal(t, exitUsage, r.code)
	assert.Equal(t, 2, strings.Count(r.out, "\n"), r.out)
	assert.Contains(t, r.err, `cardtell: card 2: "bad"`)
	assert.Contains(t, r.err, `cardtell: `+cards+`:3: "26:32D687E=26:32D687F": two different reads of one card`)
	assert.Contains(t, r.err, `cardtell: `+cards+`:4: "rubbish"`)
	r = do("identify --each --json 26:2F20023 bad --file "+cards, "")
	assert.Equal(t, exitUsage, r.code)
	var lines, wrong []int
	for line := range strings.Lines(r.out) {
		var doc identifyJSON
		require.NoError(t, json.Unmarshal([]byte(line), &doc))
		lines = append(lines, doc.Line)
		if doc.Error != "" {
			wrong = append(wrong, doc.Line)
		}
	}
	assert.Equal(t, []int{1, 2, 1, 3, 4}, lines)
	assert.Equal(t, []int{2, 3, 4}, wrong)
}

// convert --json gives one result an input, in input order, where the format is named.
func TestConvertJSON(t *testing.T) {
	r := do("convert --json 150,46143 001,00002 - --from pair --to decimal --format 26-8-16", "116/23152\n")
	require.Equal(t, exitDone, r.code, r.err)
	// 116,23152 = 7625328: a published question and answer about a printed fob number.
	assert.JSONEq(t, `{"results":[
		{"input":"150,46143","format":"26-8-16","from":"pair","value":"9876543","to":"decimal","probability":1},
		{"input":"001,00002","format":"26-8-16","from":"pair","value":"65538","to":"decimal","probability":1},
		{"input":"116/23152","format":"26-8-16","from":"pair","value":"7625328","to":"decimal","probability":1}]}`, r.out)
}

// A facility that the value has itself is never replaced by another one: not by --facility, and not by that of the site
// file. 150,46143 is 9876543, and its read 26:32D687E: arithmetic of the published 26-bit frame.
func TestFacilityIsNotReplaced(t *testing.T) {
	site := write(t, "site.toml", "[[cards]]\nformat = \"26-8-16\"\nfacility = 121\n")
	for _, value := range []string{"150,46143 --from pair", "15046143 --from joined", "9876543 --from decimal",
		"26:32D687E --from bits-hex"} {
		for _, given := range []string{"--format 26-8-16 --facility 121", "--site " + site} {
			r := do("convert "+value+" --to hex "+given, "")
			assert.Equal(t, exitUsage, r.code, "%s %s", value, given)
			assert.Empty(t, r.out, "%s %s", value, given)
			assert.Contains(t, r.err, "facility 150, not 121")
		}
		r := do("convert "+value+" --to hex --format 26-8-16 --facility 150", "")
		assert.Equal(t, "96B43F\n", r.out, value)
	}
	// Without a format, those that would have another facility are out.
	r := do("convert 15046143 --from joined --to pair --facility 150", "")
	require.Equal(t, exitNo, r.code, r.err) // no one result above 99 %
	for line := range strings.Lines(r.out) {
		assert.Regexp(t, ` 0*150,`, line)
	}
	assert.Equal(t, "0007975999\n", do("convert 46143 --from number --to decimal10 --site "+site, "").out,
		"121·65536+46143")
	// A facility says that the format has one: the likeliest is the one that it would be without, made whole.
	r = do("convert 43 --from number --to decimal --facility 121", "")
	require.Equal(t, exitNo, r.code, r.err)
	assert.Regexp(t, `^ *[89]\d\.\d %  7929899 +26-8-16`, r.out, "121·65536+43")
	assert.NotContains(t, r.out, "26-0-24")
	r = do("convert 43 --from uid-decimal --to uid --facility 121", "")
	assert.Equal(t, exitUsage, r.code)
	assert.Contains(t, r.err, "has no facility field; leave it out")
	r = do("convert 46143 --from number --to decimal --format 26-0-24 --facility 150", "")
	assert.Equal(t, exitUsage, r.code)
	assert.Contains(t, r.err, "format 26-0-24 has no facility field; leave it out")
}

// Where the site file says which facilities its cards have, --facility picks among them, and one that they can't have
// is an error. 122·65536+43 = 7995435, 130·65536+43 = 8519723, 121·65536+43 = 7929899.
func TestFacilityOfASitesPrints(t *testing.T) {
	two := write(t, "two.toml", "[[cards]]\nformat = \"26-8-16\"\nfacility = [121, 122]\nprinted = \"number\"\n")
	one := write(t, "one.toml", "[[cards]]\nformat = \"26-8-16\"\nfacility = [121, 122]\nprinted = \"pair\"\n"+
		"[[cards]]\nformat = \"26-8-16\"\nfacility = 130\nprinted = \"number\"\n")
	for _, test := range []struct {
		line string
		code int
		out  string // a pattern
		says string
	}{
		{"43 --facility 122 --site " + two, exitDone, `^7995435\n$`, "taken for a printed number"},
		{"43 --site " + two, exitNo, `^ (\d+\.\d) %  7929899  .*\n (\d+\.\d) %  7995435  `, "--facility"},
		{"43 --facility 150 --site " + two, exitUsage, `^$`, "does not list it"},
		{"43 --site " + one, exitNo, `^ +[789]\d\.\d %  8519723  `, "--facility"}, // the site file is not always right
		{"43 --facility 122 --site " + one, exitDone, `^7995435\n$`, ""},
		{"122,43 --facility 122 --site " + one, exitDone, `^7995435\n$`, ""},
		{"122,43 --facility 121 --site " + one, exitUsage, `^$`, "facility 122, not 121"},
	} {
		r := do("convert --to decimal "+test.line, "")
		assert.Regexp(t, test.out, r.out, test.line)
		assert.Contains(t, r.err, test.says, test.line)
		assert.Equal(t, test.code, r.code, test.line)
	}
}

// A definition that replaces one of the catalogue is said to: reads of that format are then known by it alone.
func TestOwnDefinitionsReplace(t *testing.T) {
	defs := write(t, "defs.toml", "[[format]]\nid = \"26-8-16\"\ndescription = \"x\"\nlength = 27\nfields = [{ name = \"number\", bits = \"1-27\" }]\n")
	r := do("formats show 26-8-16 --formats "+defs, "")
	assert.Equal(t, exitDone, r.code)
	assert.Equal(t, defs+": format 26-8-16 takes the place of the one that was known by that name\n", r.err)
}

// A definition file of one's own takes part at once, and a constant facility need not be given.
func TestOwnDefinitions(t *testing.T) {
	own := write(t, "own.toml", `
[[format]]
id = "28-8-18"
description = "28 bits of our own"
length = 28
fields = [{ name = "facility", bits = "2-9", value = "77" }, { name = "number", bits = "10-27" }]
checks = [{ kind = "even", bit = 1, over = "2-14" }, { kind = "odd", bit = 28, over = "15-27" }]
weight = 50
`)
	r := do("convert 1234 --from number --to bits-hex --format 28-8-18 --formats "+own, "")
	require.Equal(t, exitDone, r.code, r.err)
	r = do("identify --formats "+own+" "+strings.TrimSpace(r.out), "")
	assert.Equal(t, exitDone, r.code, r.err)
	assert.Contains(t, r.out, "28-8-18")
	assert.Contains(t, r.out, "facility 77  number 1234")
}

// Output that is piped has no colour, whatever the environment, and fits 80 columns but for numbers that are longer.
func TestPlainOutput(t *testing.T) {
	t.Setenv("CLICOLOR_FORCE", "1")
	for _, line := range []string{
		"identify 26:32D687E", "identify 26:32D687E=46143 26:32D6883", "formats", "formats --forms", "formats show fascn-200",
		"formats show piv-75", "formats show 64-8-32-rows", "formats show 35-12-20", "formats show track2", "--help",
		"identify --help",
		"convert --help", "formats --help", "identify 200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC",
	} {
		r := do(line, "")
		assert.NotContains(t, r.out, "\x1b", line)
		for text := range strings.Lines(r.out) {
			if !strings.Contains(text, "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC") {
				assert.LessOrEqual(t, len([]rune(strings.TrimRight(text, "\n"))), 80, "%s: %q", line, text)
			}
		}
	}
}

// A format of one's own with a long id and a long description fits 80 columns too.
func TestLongIDs(t *testing.T) {
	own := write(t, "own.toml", `
[[format]]
id = "`+strings.Repeat("long-", 8)+`name"
description = "`+strings.Repeat("on and ", 30)+`on"
length = 27
fields = [{ name = "number", bits = "2-26" }]
checks = [{ kind = "even", bit = 1, over = "2-13" }, { kind = "odd", bit = 27, over = "14-26" }]
weight = 100
`)
	for _, line := range []string{"identify 27:2CB5A1F", "formats", "formats show " + strings.Repeat("long-", 8) +
		"name"} {
		r := do(line+" --formats "+own, "")
		require.Equal(t, exitDone, r.code, r.err)
		assert.Contains(t, r.out, "long-name")
		for text := range strings.Lines(r.out) {
			assert.LessOrEqual(t, len([]rune(strings.TrimRight(text, "\n"))), 80, "%s: %q", line, text)
		}
	}
}

// A file that can't be written, or an id that is none: an error and nothing on standard output, as everywhere.
func TestNothingBesideAnError(t *testing.T) {
	nowhere := filepath.Join(t.TempDir(), "none", "x.toml")
	const barrier = "../../testdata/demo/barrier.txt"
	for line, code := range map[string]int{
		"learn " + barrier + " -o " + nowhere:                                        exitFile,
		"learn " + barrier + " --json -o " + nowhere:                                 exitFile,
		"learn " + barrier + " --id Gate -o " + filepath.Join(t.TempDir(), "x.toml"): exitUsage,
		"relate 3974465139=1938220524 70892138=1790589188 -o " + nowhere:             exitFile,
		"learn " + write(t, "reads.csv", "read,printed\n26:32D687E,12a\n"):           exitUsage,
		"identify -1:3": exitUsage,
	} {
		r := do(line, "")
		assert.Equal(t, code, r.code, "%s: %s", line, r.err)
		assert.Empty(t, r.out, line)
		assert.Equal(t, 1, strings.Count(r.err, "\n"), "%s: %q", line, r.err)
	}
	assert.Contains(t, do("learn "+write(t, "reads.csv", "read,printed\n26:32D687E,12a\n"), "").err, "reads.csv: line 2 ")
	assert.Contains(t, do("identify -1:3", "").err, "write -- before an argument that begins with a dash")
	rule := filepath.Join(t.TempDir(), "rule.toml")
	require.Equal(t, exitDone, do("relate 3974465139=1938220524 70892138=1790589188 -o "+rule, "").code)
	text, err := os.ReadFile(rule)
	require.NoError(t, err)
	assert.Contains(t, string(text), "probability >99.9 %", "certainty is never claimed")
}

// --quiet keeps remarks from standard error.
func TestQuiet(t *testing.T) {
	assert.NotEmpty(t, do("convert 15046143 --from joined --to decimal", "").err)
	assert.Empty(t, do("convert 15046143 --from joined --to decimal --quiet", "").err)
}

// Bits count from 1: of a read in which more is wrong than one bit, none is named.
func TestNoBit0(t *testing.T) {
	t.Parallel()
	r := do("identify --verbose 26:12DEE55 A06C05A1 bits:01000101111010110011010010", "")
	assert.Contains(t, r.out, "card 3: more is wrong with the read than can be put right")
	assert.Contains(t, r.out, "(nothing known)  (present it again)")
	assert.NotContains(t, r.out, "bit 0 ")
}

// Where a format is named, the reason why a number is none of its cards is that number's, and no advice to name it.
func TestConvertSaysWhyNot(t *testing.T) {
	t.Parallel()
	assert.Contains(t, do("convert 121,70000 --to decimal10 --format 26-8-16", "").err, `number "70000": does not fit 16 bits`)
	r := do("convert 121,17 --to decimal10 --format 34-0-32", "")
	assert.Contains(t, r.err, "the end of a longer number of format 34-0-32")
	r = do("convert 121,17 --to decimal10 --format fascn-200", "")
	assert.Contains(t, r.err, "can be no card of format fascn-200")
	assert.NotContains(t, r.err, "name the --format")
}
