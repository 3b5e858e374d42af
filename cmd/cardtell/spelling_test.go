package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// frame26 is the read of the published 26-bit standard, put together here: even parity of the first 12 data bits before
// them, odd parity of the last 12 after them.
func frame26(facility, number uint64) uint64 {
	data := facility<<16 | number
	first, last := uint64(0), uint64(1)
	for i := range 12 {
		first ^= data >> (12 + i) & 1
		last ^= data >> i & 1
	}
	return first<<25 | data<<1 | last
}

// asked is what identify answers for texts, as JSON.
func asked(t *testing.T, args ...string) (doc identifyJSON) {
	t.Helper()
	code, out, errs := cli(append([]string{"identify", "--json", "--top", "1000"}, args...)...)
	require.Contains(t, []int{exitDone, exitNo}, code, "%q: %s", args, errs)
	require.NoError(t, json.Unmarshal([]byte(out), &doc), args)
	// frames have no cards
	doc.Candidates = slices.DeleteFunc(doc.Candidates, func(c candidateJSON) bool { return c.Format == "" })
	for _, c := range doc.Candidates {
		for i := range c.Cards {
			card := &c.Cards[i]
			if f, n, ok := strings.Cut(card.Forms["pair"], ","); ok && card.Number == "" { // parts of a serial
				card.Facility, card.Number = cmp.Or(strings.TrimLeft(f, "0"), "0"), cmp.Or(strings.TrimLeft(n, "0"), "0")
			}
		}
	}
	return doc
}

// Every way of writing one card, and what the first answer is: facility 121, number 8417, unless it says otherwise.
// Reads and decimals are made up by arithmetic here, from the published 26-bit frame.
func TestEverySpelling(t *testing.T) {
	read := frame26(121, 8417)
	hex, data := fmt.Sprintf("%07X", read), 121<<16|8417
	bits := fmt.Sprintf("%026b", read)
	require.Equal(t, "0F241C3", hex)
	require.Equal(t, 0x7920E1, data)
	left := fmt.Sprintf("%08X", read<<6)
	const serial = "|77740892" // 0x04A23B5C
	require.EqualValues(t, 77740892, 0x04A23B5C)
	for text, want := range map[string]string{
		"26:" + hex: "", "26: " + hex: "", "26:0F 24 1C 3": "", "26bit " + hex: "", "26 bits: " + hex: "", "0b" + bits: "",
		bits:           "",
		"bits:" + bits: "", "left:26:" + left: "", hex: "", "hex:" + hex: "", "0x" + hex: "", "0x7920E1": "",
		"hex:7920E1": "", "7920E1": "",
		"26:0x" + hex: "", "26:0x" + hex + " 08417": "", "0F 24 1C 3": "", "00" + hex[1:]: "", "hex:00" + hex[1:]: "",
		"0000000000" + hex[1:]: "", left: "",
		"3C 90 70 C0": "", hex + " 08417": "", hex + ";08417": "", "08417\t26:" + hex: "",
		"Site Code: 121 Card Number: 8417": "", "Facility Code=121, Card No=8417": "", "SC:121 | CN:8417": "",
		"card #8417": "|8417", "Card No. 8417": "|8417",
		"FC 121 ID 4321": "121|4321", "FC:121 CN:8417": "", "facility=121 number=8417": "", "FC 121, ID 8417": "",
		"121,08417": "", "121.08417": "", "121:08417": "", "121;08417": "", "121/8417": "", "121 08417": "", "121\t8417": "",
		"121-08417-1": "", "121-08417": "",
		"printed:121,08417": "", "121,08417  # the caretaker's": "", "26:" + hex + " # lost": "", "26:" + hex + " #": "",
		"#8417": "|8417", "No. 8417": "|8417", "HD-08417": "|8417", "8417": "|8417",
		"26:" + hex + " 08417": "", "26:" + hex + ",08417": "", "26:" + hex + "\t8417": "", "26:" + hex + ";121,08417": "",
		"26:" + hex + "=08417":               "",
		fmt.Sprintf("%010d 121,08417", data): "", fmt.Sprintf("%010d=121,08417", data): "",
		fmt.Sprintf("121,08417 / %010d", data): "", fmt.Sprintf("%010d-121,08417", data): "",
		fmt.Sprintf("121,08417,%010d", data): "", fmt.Sprintf("No. %010d 121,08417", data): "",
		"uid:04A23B5C": serial, "04:A2:3B:5C": serial, "UID: 04:A2:3B:5C": serial, "04 A2 3B 5C": serial,
	} {
		doc := asked(t, text)
		require.NotEmpty(t, doc.Candidates, text)
		_, answer, _ := cli("identify", text)
		assert.Less(t, strings.Count(answer, "\n"), say.Lines, "%q: one screen for one question", text)
		require.NotEmpty(t, doc.Taken, text)
		got := doc.Candidates[0].Cards[0].Facility + "|" + doc.Candidates[0].Cards[0].Number
		if want == "" {
			want = "121|8417"
		}
		if want == serial {
			sum := 0.0
			for _, c := range doc.Candidates {
				if "|"+c.Cards[0].Number == serial {
					sum += c.Probability
				}
			}
			assert.Greater(t, sum, 0.2, "%q: %v", text, doc.Candidates[0])
			assert.Equal(t, "a chip serial", doc.Taken[0].As, text)
			continue
		}
		assert.Equal(t, want, got, "%q taken for %v", text, doc.Taken)
	}
	// What is not sure is offered.
	for text, want := range map[string]string{fmt.Sprint(read): "121|8417", "04A23B5C": serial, "0x04A23B5C": serial,
		"00 F2 41 C3": "121|8417", "24:96": "24|96"} {
		found := 0.0
		for _, c := range asked(t, text).Candidates {
			if c.Cards[0].Facility+"|"+c.Cards[0].Number == want {
				found += c.Probability
			}
		}
		assert.Greater(t, found, 0.005, text)
	}
}

// A whole log pasted, and a list with heads, are read a line a card; what was taken and passed over is said. A line
// with two cards is an error that names both.
func TestPastedLog(t *testing.T) {
	log := write(t, "panel.log", "2026-03-02 08:14:22 North stair  UNKNOWN CARD 0F241C3\n2026-03-02 08:14:30 Door 3 opened\n"+
		"2026-03-02 08:15:01 North stair  UNKNOWN CARD 0F241C6\n")
	list := write(t, "list.csv", "read,printed\n26:0F241C3,08417\n26:0F241C6,08419\n")
	for _, file := range []string{log, list} {
		doc := asked(t, "--file", file)
		require.NotEmpty(t, doc.Candidates)
		require.Len(t, doc.Candidates[0].Cards, 2, file)
		assert.Equal(t, "26-8-16", doc.Candidates[0].Format)
		assert.Equal(t, "121 8417", doc.Candidates[0].Cards[0].Facility+" "+doc.Candidates[0].Cards[0].Number)
		assert.Equal(t, "121 8419", doc.Candidates[0].Cards[1].Facility+" "+doc.Candidates[0].Cards[1].Number)
		code, out, errs := cli("identify", "--each", "--file", file)
		assert.Equal(t, exitDone, code, errs)
		assert.Equal(t, 2, strings.Count(out, "facility 121  number 84"), out)
		assert.Equal(t, file == log, strings.Contains(errs, "passed over as headings, or as having no card: line 2"))
		assert.Equal(t, file == log, strings.Contains(errs,
			"2 lines had more on them than a card, of which this was taken: 0F241C3 in line 1, and so on"), errs)
	}
	for name, text := range map[string]string{ // the heads say where the card is; the first cell of a row is none
		"facility and number": "Date;Door;Site code;Card\n02.03.2026;3;121;8417\n02.03.2026;3;121;8419\n",
		"read and print":      "Nr\tRead\tPrinted\n10001\t26:0F241C3\t08417\n10002\t26:0F241C6\t08419\n",
		"one column":          "Time,Door,Event,Badge no\n2026-03-02 08:14:22,12345,unknown,\"121,08417\"\n2026-03-02 08:14:23,12345,unknown,\"121,08419\"\n",
		"bytes":               "08:14:22.113 RX 00 F2 41 C3\n08:14:25.201 RX 00 F2 41 C6\n",
	} {
		doc := asked(t, "--file", write(t, "list.txt", text))
		found := 0.0
		for _, c := range doc.Candidates {
			if c.Format == "26-8-16" && len(c.Cards) == 2 && c.Cards[0].Facility == "121" && c.Cards[0].Number == "8417" &&
				c.Cards[1].Number == "8419" {
				found += c.Probability
			}
		}
		assert.Greater(t, found, map[bool]float64{true: 0.4, false: 0.8}[name == "bytes"], "%s: %v", name, doc.Candidates[0])
	}
	two := write(t, "two.log", "08:14:22 read 0F241C3 then 0F241C6\n")
	code, _, errs := cli("identify", "--file", two)
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, errs, "the card can be 0F241C3 or 0F241C6; leave one card in the line")
	code, _, errs = cli("identify", "--file", write(t, "none.log", "2026-03-02 08:14:30 Door 3 opened\n"))
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, errs, "no cards in it")
}

// Agreement: identify and convert state the same probability for the same text and card, with a site file and without,
// to the last digit.
func TestConvertAgreesWithIdentify(t *testing.T) {
	const seed = 20
	rng := rand.New(rand.NewPCG(seed, seed))
	t.Logf("seed %d", seed)
	t.Chdir("../..")
	compared := 0
	for i := range 100 {
		facility, number := rng.Uint64N(256), 1+rng.Uint64N(60000)
		if i%2 == 0 {
			facility, number = 121, 1+rng.Uint64N(500)
		}
		read := frame26(facility, number)
		text := []string{
			fmt.Sprintf("%03d,%05d", facility, number), fmt.Sprintf("26:%07X", read), fmt.Sprintf("%07X", read),
			fmt.Sprintf("hex:%07X", read),
			fmt.Sprint(read), fmt.Sprint(facility<<16 | number), fmt.Sprintf("%010d", facility<<16|number),
			fmt.Sprintf("0x%06X", facility<<16|number),
			fmt.Sprintf("%d.%d", facility, number), fmt.Sprintf("%010d %03d,%05d", facility<<16|number, facility, number),
		}[i%10]
		for _, site := range [][]string{nil, {"--site", "testdata/demo/site.toml"}} {
			want := map[string]float64{}
			answer := asked(t, append([]string{text}, site...)...)
			for _, c := range answer.Candidates {
				if strings.HasSuffix(c.Fault, "-bit") {
					continue // of a misread convert makes no number
				}
				want[c.Format+" "+c.Cards[0].Facility+" "+c.Cards[0].Number] += c.Probability
			}
			code, out, errs := cli(append([]string{"convert", "--json", text, "--to", "fields"}, site...)...)
			if code == exitUsage { // a card that is none of the site's, or one that lacks the facility
				require.True(t, site != nil || strings.Contains(errs, "needs the"), errs)
				continue
			}
			var doc struct{ Results []conversionJSON }
			require.NoError(t, json.Unmarshal([]byte(out), &doc), errs)
			got := map[string]float64{}
			for _, r := range doc.Results {
				got[r.Format+" "+field(r.Value, "facility")+" "+field(r.Value, "number")] += r.Probability
				assert.NotEmpty(t, r.From)
				assert.NotEmpty(t, r.Taken)
			}
			if first := answer.Candidates[0]; site == nil && first.Fault == "none" {
				assert.Contains(t, got, first.Format+" "+first.Cards[0].Facility+" "+first.Cards[0].Number, text)
			}
			for card, p := range got {
				assert.Equal(t, strconv.FormatFloat(want[card], 'g', 9, 64), strconv.FormatFloat(p, 'g', 9, 64), "%s %q %v: %s",
					text, card, site, out)
				compared++
			}
		}
	}
	require.Greater(t, compared, 300)
}

func field(text, name string) string {
	for word := range strings.FieldsSeq(text) {
		if value, ok := strings.CutPrefix(word, name+"="); ok {
			return value
		}
	}
	return ""
}

// A number that can be two cards is never stated as certain: 7930174 is facility 121, number 318 as one decimal
// (121·65536+318), and a chip serial's number too.
func TestConvertIsNeverCertain(t *testing.T) {
	t.Chdir("../..")
	code, out, errs := cli("convert", "7930174", "--site", "testdata/demo/site.toml", "--door", "Yard gate", "--json")
	require.Equal(t, exitDone, code, errs)
	var doc struct{ Results []conversionJSON }
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.NotEmpty(t, doc.Results)
	want := asked(t, "7930174", "--site", "testdata/demo/site.toml").Candidates[0].Probability
	assert.Equal(t, "0007930174", doc.Results[0].Value)
	assert.InDelta(t, want, doc.Results[0].Probability, 1e-12)
	assert.Less(t, doc.Results[0].Probability, 1.0)

	code, out, _ = cli("convert", "43", "--site", "testdata/demo/site.toml", "--door", "Yard gate")
	assert.Equal(t, exitNo, code, "a number of the fobs, or of the cards")
	assert.Contains(t, out, "0007929899  26-8-16, from number")
	assert.Contains(t, out, "0000000043  34-0-32, from number10")
}
