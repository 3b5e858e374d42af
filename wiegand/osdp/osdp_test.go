package osdp_test

import (
	"bytes"
	"encoding/hex"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/sigurn/crc16"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// seed is of all random tests, so that a failure can be replayed.
const seed = 20261125

// published are packets that public texts print in full.
var published = []struct {
	hex, name, source string
	address           byte
	reply, crc        bool
	sequence          byte
	data              string
}{
	{"53 7F 0D 00 04 6E 00 80 25 00 00 6E 38", "COMSET", "SIA OSDP Annex E, CRC example 1", 0x7F, false, true, 0,
		"00 80 25 00 00"},
	{"53 00 09 00 04 61 00 C0 66", "ID", "SIA OSDP Annex E, CRC example 2", 0, false, true, 0, "00"},
	{"53 7F 0C 00 00 6E 00 80 25 00 00 0F", "COMSET", "SIA OSDP Annex E, checksum example 1", 0x7F, false, false, 0,
		"00 80 25 00 00"},
	{"53 00 08 00 00 61 00 44", "ID", "SIA OSDP Annex E, checksum example 2", 0, false, false, 0, "00"},
	{"53 80 08 00 01 4B 01 D8", "RSTATR", "SIA's note on capture files (there with two marking bytes)", 0, true, false, 1,
		"01"},
	{"53 00 08 00 04 60 EB AA", "POLL", "public text", 0, false, true, 0, ""},
	{"53 80 08 00 04 40 59 AC", "ACK", "public text", 0, true, true, 0, ""},
	{"53 80 09 00 04 41 01 27 A4", "NAK", "public text", 0, true, true, 0, "01"},
	{"53 00 08 00 05 60 DA 99", "POLL", "public text", 0, false, true, 1, ""},
	{"53 80 08 00 05 40 68 9F", "ACK", "public text", 0, true, true, 1, ""},
}

// built are card and keypad replies, put together from the standard's description, since no complete published one was
// found; their checks were computed outside of this project.
var built = []struct{ hex, what string }{
	{"53 80 10 00 05 50 00 01 1A 00 EA 0D C0 80 6D 4B", "RAW, 26 bits, facility 212 number 7041, CRC"},
	{"53 80 0F 00 01 50 00 01 1A 00 EA 0D C0 80 7B", "the same with a checksum"},
	{"53 81 11 00 06 50 00 01 25 00 18 1C 9E 24 08 88 02", "RAW from address 1, 37 bits"},
	{"53 80 25 00 07 50 00 00 C8 00 D0 43 94 58 21 0C 2C 19 A0 84 6D 83 68 5A 10 82 10 8C E7 39 84 10 8C A3 FC 32 91",
		"RAW, 200 bits"},
	{"53 80 0F 00 05 53 00 05 31 32 33 34 0D 7B 38", "KEYPAD, 1234#"},
	{"53 80 15 00 05 51 00 01 0A 30 30 30 39 38 37 36 35 34 33 1F 72", "FMT, 0009876543"},
}

func unhex(t testing.TB, s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	require.NoError(t, err)
	return b
}

// allPackets returns every packet above.
func allPackets(t testing.TB) (all [][]byte) {
	for _, p := range published {
		all = append(all, unhex(t, p.hex))
	}
	for _, p := range built {
		all = append(all, unhex(t, p.hex))
	}
	return all
}

func TestPublishedPackets(t *testing.T) {
	t.Parallel()
	for _, c := range published {
		b := unhex(t, c.hex)
		p, n, err := osdp.Parse(b)
		require.NoError(t, err, c.source)
		require.Equal(t, len(b), n, c.source)
		require.Equal(t, c.name, p.Name(), c.source)
		require.Equal(t, c.address, p.Address, c.source)
		require.Equal(t, c.reply, p.Reply, c.source)
		require.Equal(t, c.crc, p.CRC, c.source)
		require.Equal(t, c.sequence, p.Sequence, c.source)
		require.Equal(t, unhex(t, c.data), append([]byte{}, p.Data...), c.source)
	}
}

func TestCardReplies(t *testing.T) {
	t.Parallel()
	card := func(i int) osdp.Card {
		p, _, err := osdp.Parse(unhex(t, built[i].hex))
		require.NoError(t, err)
		c, err := p.Card()
		require.NoError(t, err)
		require.Empty(t, c.Note)
		_, err = p.Keys()
		require.ErrorIs(t, err, osdp.ErrKind)
		return c
	}
	require.Equal(t, "26:3A83702", card(0).Bits.Hex()) // facility 212, number 7041, a published 26-bit example
	require.Equal(t, card(0), card(1))
	require.Equal(t, "37:030393C481", card(2).Bits.Hex())
	// The FASC-N of TIG SCEPACS figure 7, 200 bits.
	require.Equal(t, "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC", card(3).Bits.Hex())
	require.Equal(t, "0009876543", card(5).Text)

	p, _, err := osdp.Parse(unhex(t, built[4].hex))
	require.NoError(t, err)
	k, err := p.Keys()
	require.NoError(t, err)
	require.Equal(t, osdp.Keys{Digits: "1234#", Count: 5}, k)
	require.Equal(t, "•••••", k.Masked())
	_, err = p.Card()
	require.ErrorIs(t, err, osdp.ErrKind)
}

// TestOddReplies has replies whose check is right and whose data is not.
func TestOddReplies(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code byte
		data string
		kind error // nil: read, with a note
	}{
		{osdp.RAW, "00 01 1A 00 EA 0D C0", osdp.ErrSyntax},                    // a byte too few
		{osdp.RAW, "00 01 1A 00 EA 0D C0 80 00", osdp.ErrSyntax},              // a byte too many
		{osdp.RAW, "00 01 1A", osdp.ErrSyntax},                                // no count
		{osdp.RAW, "00 01 00 00", osdp.ErrSyntax},                             // no bits
		{osdp.RAW, "00 01 01 01 " + strings.Repeat("00", 33), osdp.ErrSyntax}, // 257 bits
		{osdp.RAW, "00 01 00 01 " + strings.Repeat("00", 31), osdp.ErrSyntax}, // 256 bits, a byte too few
		{osdp.RAW, "00 01 1A 00 EA 0D C0 BF", nil},                            // spare bits set: ignored, with a note
		{osdp.FMT, "00 01 06 31 32 33 34", nil},                               // counts start and end
		{osdp.FMT, "00 01 05 31 32 33 34", osdp.ErrSyntax},
		{osdp.FMT, "00", osdp.ErrSyntax},
	} {
		p := osdp.Packet{Reply: true, CRC: true, Code: c.code, Data: unhex(t, c.data)}
		card, err := p.Card()
		if c.kind == nil {
			require.NoError(t, err, c.data)
			require.NotEmpty(t, card.Note, c.data)
		} else {
			require.ErrorIs(t, err, c.kind, c.data)
		}
	}
	for n := 1; n <= 256; n++ { // every length of a read; after it all bits of the last byte are spare
		data := append([]byte{2, 1, byte(n), byte(n >> 8)}, bytes.Repeat([]byte{0xFF}, (n+7)/8)...)
		data[len(data)-1] = byte(0xFF << ((8 - n%8) % 8))
		c, err := osdp.Packet{Reply: true, Code: osdp.RAW, Data: data}.Card()
		require.NoError(t, err, n)
		require.Equal(t, strings.Repeat("1", n), c.Bits.String())
		require.Equal(t, []any{byte(2), byte(1), ""}, []any{c.Reader, c.Format, c.Note})
	}
	k, err := osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte{1, 3, '7', 0x7F, 0x1B}}.Keys()
	require.NoError(t, err)
	require.Equal(t, osdp.Keys{Reader: 1, Digits: "7*<1b>", Count: 3}, k)
	k, err = osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte("\x00\x0b0123456789\r")}.Keys()
	require.NoError(t, err)
	require.Equal(t, osdp.Keys{Digits: "0123456789#", Count: 11}, k)
	k, err = osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte{1, 0}}.Keys()
	require.NoError(t, err)
	require.Equal(t, osdp.Keys{Reader: 1}, k)
	_, err = osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte{1}}.Keys()
	require.ErrorContains(t, err, "1 bytes of data; KEYPAD has at least 2")
	_, err = osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte{1, 4, '7'}}.Keys()
	require.ErrorContains(t, err, "1 keys where the count says 4")
	c, err := osdp.Packet{Reply: true, Code: osdp.FMT, Data: []byte{3, 1, 2, '7', '8'}}.Card()
	require.NoError(t, err)
	require.Equal(t, osdp.Card{Reader: 3, Direction: 1, Text: "78"}, c)
	_, err = osdp.Packet{Reply: true, Code: osdp.KEYPAD, Data: []byte{1, 4, '7'}}.Keys()
	require.ErrorIs(t, err, osdp.ErrSyntax)
}

func TestEncryptedIsNamedAndNotRead(t *testing.T) {
	t.Parallel()
	secret := osdp.Packet{Reply: true, Address: 3, CRC: true, Security: 0x18, Code: osdp.RAW,
		Data: bytes.Repeat([]byte{0xA5}, 16), MAC: []byte{1, 2, 3, 4}}
	plain := osdp.Packet{Reply: true, Address: 3, CRC: true, Security: 0x16, Code: osdp.RAW,
		Data: unhex(t, "00 01 1A 00 EA 0D C0 80"), MAC: []byte{1, 2, 3, 4}}
	for _, want := range []osdp.Packet{secret, plain} {
		b, err := want.Append(nil)
		require.NoError(t, err)
		got, n, err := osdp.Parse(b)
		require.NoError(t, err)
		require.Equal(t, len(b), n)
		want.Block = []byte{}
		require.Equal(t, want, got)
		require.Equal(t, "RAW", got.Name())
		c, err := got.Card()
		if want.Encrypted() {
			require.ErrorIs(t, err, osdp.ErrEncrypted)
			require.ErrorContains(t, err, "address 3")
			got.Code = osdp.KEYPAD
			_, err = got.Keys()
			require.ErrorIs(t, err, osdp.ErrEncrypted, "keys are as secret")
			require.ErrorContains(t, err, "address 3")
		} else {
			require.NoError(t, err)
			require.Equal(t, "26:3A83702", c.Bits.Hex())
		}
	}
}

// TestCRCAgainstLibrary compares with a general-purpose CRC library, and with the catalogue's check value.
func TestCRCAgainstLibrary(t *testing.T) {
	t.Parallel()
	require.Equal(t, uint16(0xE5CC), osdp.CRC([]byte("123456789")))
	table := crc16.MakeTable(crc16.CRC16_AUG_CCITT)
	rng := rand.New(rand.NewPCG(seed, 0))
	for range 10000 {
		b := make([]byte, rng.IntN(200))
		for i := range b {
			b[i] = byte(rng.Uint32())
		}
		require.Equal(t, crc16.Checksum(b, table), osdp.CRC(b), "%x", b)
	}
}

// TestEverySingleByteCorruptionIsRefused changes each byte of each packet to each other value: no packet may come out
// of the bytes, wherever it is looked for.
func TestEverySingleByteCorruptionIsRefused(t *testing.T) {
	t.Parallel()
	tried := 0
	for _, good := range allPackets(t) {
		for i := range good {
			for v := range 256 {
				if byte(v) == good[i] {
					continue
				}
				bad := bytes.Clone(good)
				bad[i] = byte(v)
				_, _, err := osdp.Parse(bad)
				require.Error(t, err, "byte %d of % X is %02X", i, good, v)
				_, err = osdp.NewScanner(osdp.NewBinary(bytes.NewReader(bad))).Next()
				require.Equal(t, io.EOF, err, "byte %d of % X is %02X", i, good, v)
				tried++
			}
		}
	}
	t.Logf("%d corruptions refused", tried)
}

// TestEveryPacketIsFoundInGarbage hides packets in as many bytes of garbage, with marking bytes here and there. Every
// packet must be found, in order, and none that was not put there. Half of the garbage is drawn from the bytes that
// headers are made of, so that false starts are common.
func TestEveryPacketIsFoundInGarbage(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(seed, 1))
	all := allPackets(t)
	garbage := func(n int) []byte {
		b := make([]byte, n)
		for i := range b {
			b[i] = byte(rng.Uint32())
			if rng.IntN(2) == 0 {
				b[i] = []byte{0x53, 0x00, 0x80, 0x08, 0x05, 0x10, 0xFF, 0x50}[rng.IntN(8)]
			}
		}
		return b
	}
	packets, noise, badChecks := 0, 0, 0
	for stream := range 1000 {
		var b []byte
		var want []string
		for range 20 {
			p := all[rng.IntN(len(all))]
			b = append(b, garbage(len(p)*2*rng.IntN(2))...)
			b = append(b, []byte{0xFF, 0xFF}[:rng.IntN(3)]...)
			b = append(b, p...)
			want = append(want, hex.EncodeToString(p))
			packets++
		}
		b = append(b, garbage(rng.IntN(40))...)
		noise += len(b)
		s := osdp.NewScanner(osdp.NewBinary(iotest.HalfReader(bytes.NewReader(b))))
		var got []string
		for {
			f, err := s.Next()
			if err == io.EOF {
				break
			}
			require.NoError(t, err)
			raw, err := f.Append(nil)
			require.NoError(t, err)
			require.Equal(t, raw, b[f.Offset:f.Offset+int64(len(raw))])
			got = append(got, hex.EncodeToString(raw))
			noise -= len(raw)
		}
		require.Equal(t, want, got, "stream %d", stream)
		require.Equal(t, int64(len(b)), s.Counts().Bytes)
		badChecks += s.Counts().BadChecks
	}
	t.Logf("%d packets found among %d bytes of garbage; %d false starts refused by their check", packets, noise, badChecks)
}

func scanAll(t testing.TB, src osdp.Source) (all []osdp.Found, c osdp.Counts, err error) {
	s := osdp.NewScanner(src)
	for {
		f, err := s.Next()
		if err == io.EOF {
			return all, s.Counts(), nil
		}
		if err != nil {
			return all, s.Counts(), err
		}
		f.Data = bytes.Clone(f.Data)
		all = append(all, f)
	}
}

func TestHexForms(t *testing.T) {
	t.Parallel()
	for name, text := range map[string]string{
		"spaces":         "FF FF 53 80 08 00 01 4B 01 D8",
		"nothing":        "ffff53800800014b01d8",
		"hyphens":        "FF-FF-53-80-08-00-01-4B-01-D8\r\n",
		"commas and 0x":  "0xff, 0xff, 0x53, 0x80, 0x08, 0x00, 0x01, 0x4b, 0x01, 0xd8",
		"over two lines": "53 80 08 00 # a remark, 5\n\n01 4B 01 D8\n",
		"a remark first": "# what was on the bus\n53 80 08 00 01 4B 01 D8",
		"a byte order":   "\xef\xbb\xbf53 80 08 00 01 4B 01 D8",
	} {
		all, _, err := scanAll(t, osdp.NewHex(strings.NewReader(text)))
		require.NoError(t, err, name)
		require.Len(t, all, 1, name)
		require.Equal(t, "RSTATR", all[0].Name(), name)
	}
	_, _, err := scanAll(t, osdp.NewHex(strings.NewReader("0x")))
	require.ErrorContains(t, err, `line 1: "0x": not hex`)
	_, _, err = scanAll(t, osdp.NewHex(strings.NewReader(strings.Repeat("5", 101)+"\n")))
	require.ErrorContains(t, err, `…": an odd number`)
	all, _, err := scanAll(t, osdp.NewHex(strings.NewReader(strings.Repeat("00 ", 20000)+"53 80 08 00 01 4B 01 D8\n")))
	require.NoError(t, err, "a line of 60 thousand characters")
	require.Len(t, all, 1)

	good := "53 80 08 00 01 4B 01 D8\n"
	for text, says := range map[string]string{
		good + "5":                          `line 2: "5": an odd number`,
		good + "53 GG":                      `line 2: "GG": not hex`,
		good + "\n\x00\x01":                 "line 3",
		good + strings.Repeat("5", 70000):   "line longer than 65536",
		good + "card read on the east door": "line 2",
	} {
		all, _, err := scanAll(t, osdp.NewHex(strings.NewReader(text)))
		require.ErrorIs(t, err, osdp.ErrSyntax)
		require.ErrorContains(t, err, says)
		require.NotContains(t, err.Error(), "\n")
		require.Len(t, all, 1, "what came before the damage is kept")
	}
}

func TestJSONLines(t *testing.T) {
	t.Parallel()
	// A published reply with marking bytes, then a packet in three parts.
	text := `{"at_s":0.5,"hex":" ff ff 53 80 08 00 01 4b 01 d8"}

{"hex":"53-81-10-00-05", "at_s": 1580342116.084691851, "port": {"name":"east", "hex":"FF"}}
{"at_s":1580342116.1846918512,"hex":"50 00 01 1A 00 EA 0D C0 80"}
`
	p := osdp.Packet{Address: 1, Reply: true, Sequence: 1, CRC: true, Code: osdp.RAW,
		Data: unhex(t, "00 01 1A 00 EA 0D C0 80")}
	b, err := p.Append(nil)
	require.NoError(t, err)
	text += `{"at_s":1580342117,"hex":"` + hex.EncodeToString(b[len(b)-2:]) + `"}`
	all, counts, err := scanAll(t, osdp.NewJSONLines(strings.NewReader(text)))
	require.NoError(t, err)
	require.Len(t, all, 2)
	require.Equal(t, "RSTATR", all[0].Name())
	require.True(t, all[0].Timed)
	require.Equal(t, 500*time.Millisecond, all[0].At)
	require.Equal(t, int64(2), all[0].Offset)
	require.Equal(t, 1580342116084691851*time.Nanosecond, all[1].At, "the time of its first byte, to the nanosecond")
	require.Equal(t, byte(1), all[1].Address)
	require.Zero(t, counts.Skipped, "marking bytes are not garbage")

	// Byte by byte, with no time for the first.
	text = "\xef\xbb\xbf" + `{"hex":"53"}` + "\n"
	for _, b := range []string{"80", "08", "00", "01", "4B", "01"} {
		text += `{"at_s":7e-1,"hex":"` + b + `"}` + "\n"
	}
	text += `{"at_s":0.999999999,"hex":"D8 53 80 08 00 01 4B 01 D8"}`
	all, counts, err = scanAll(t, osdp.NewJSONLines(strings.NewReader(text)))
	require.NoError(t, err)
	require.Len(t, all, 2)
	require.False(t, all[0].Timed, "its first byte has no time")
	require.True(t, all[1].Timed)
	require.Equal(t, 999999999*time.Nanosecond, all[1].At)
	require.True(t, all[1].Resent)
	require.Equal(t, osdp.Counts{Bytes: 16, Packets: 2, Replies: 2}, counts)

	good := `{"at_s":1,"hex":"53 80 08 00 01 4B 01 D8"}` + "\n"
	for bad, says := range map[string]string{`{`: "JSON", `[]`: "JSON", `{"hex":"5"}`: "odd", `{"hex":"zz"}`: "not hex",
		`{"hex":7}`:               "JSON",
		`{"at_s":"x","hex":"53"}`: "JSON", `{"at_s":-1,"hex":"53"}`: "no time", `{"at_s":1e11,"hex":"53"}`: "no time",
		`{"at_s":1}`:    `no key "hex"`,
		`{"data":"53"}`: `no key "hex"`, `{"hex":"` + strings.Repeat("53", 1<<16) + `"}`: "longer", "\x00": "JSON"} {
		all, _, err := scanAll(t, osdp.NewJSONLines(strings.NewReader(good+bad)))
		require.ErrorIs(t, err, osdp.ErrSyntax, bad)
		require.ErrorContains(t, err, "line 2", bad)
		require.ErrorContains(t, err, says, bad)
		require.NotContains(t, err.Error(), "\n")
		require.Less(t, len(err.Error()), 300)
		require.Len(t, all, 1)
	}
}

func TestResentReplyIsNotASecondRead(t *testing.T) {
	t.Parallel()
	raw := osdp.Packet{Address: 1, Reply: true, Sequence: 2, CRC: true, Code: osdp.RAW,
		Data: unhex(t, "00 01 1A 00 EA 0D C0 80")}
	other, ack, next := raw, raw, raw
	other.Address = 2
	ack.Sequence, ack.Code, ack.Data = 3, 0x40, nil
	next.Sequence = 1
	var b []byte
	for _, p := range []osdp.Packet{raw, other, raw, ack, raw, next} {
		var err error
		b, err = p.Append(b)
		require.NoError(t, err)
	}
	all, _, err := scanAll(t, osdp.NewBinary(bytes.NewReader(b)))
	require.NoError(t, err)
	var resent []bool
	for _, f := range all {
		resent = append(resent, f.Resent)
	}
	require.Equal(t, []bool{false, false, true, false, false, false}, resent)
}

// timeouts is a reader that has nothing to give now and then.
type timeouts struct {
	r    io.Reader
	size int // of what it gives at once
	turn int
}

type timeoutError struct{}

func (timeoutError) Error() string { return "nothing came" }
func (timeoutError) Timeout() bool { return true }

func (r *timeouts) Read(p []byte) (int, error) {
	if r.turn++; r.turn%2 == 0 {
		return 0, timeoutError{}
	}
	return r.r.Read(p[:min(len(p), r.size)])
}

func TestTimeoutsLoseNothing(t *testing.T) {
	t.Parallel()
	var text strings.Builder
	for _, p := range published {
		text.WriteString(strings.ReplaceAll(p.hex, " ", "\n") + "\n")
	}
	for size := 1; size < 5; size++ {
		s := osdp.NewScanner(osdp.NewHex(&timeouts{r: strings.NewReader(text.String()), size: size}))
		var names []string
		for {
			f, err := s.Next()
			if err == io.EOF {
				break
			}
			if err != nil {
				require.ErrorIs(t, err, timeoutError{})
				continue
			}
			names = append(names, f.Name())
		}
		require.Len(t, names, len(published))
	}
}

// What the codes are called (SIA OSDP v2.2, from memory).
func TestNames(t *testing.T) {
	t.Parallel()
	for i, table := range []string{
		"60 POLL 61 ID 62 CAP 64 LSTAT 65 ISTAT 66 OSTAT 67 RSTAT 68 OUT 69 LED 6A BUZ 6B TEXT 6E COMSET 75 KEYSET 76 CHLNG 77 SCRYPT 00 0x00",
		"40 ACK 41 NAK 45 PDID 46 PDCAP 48 LSTATR 49 ISTATR 4A OSTATR 4B RSTATR 50 RAW 51 FMT 53 KEYPAD 54 COM 76 CCRYPT 78 RMAC_I 79 BUSY FF 0xFF",
	} {
		words := strings.Fields(table)
		for k := 0; k < len(words); k += 2 {
			require.Equal(t, words[k+1], osdp.Packet{Reply: i == 1, Code: unhex(t, words[k])[0]}.Name())
		}
	}
}

// stalled is a reader that has nothing to give and never says why.
type stalled struct{}

func (stalled) Read([]byte) (int, error) { return 0, nil }

func TestStalledReaderIsNotWaitedForForever(t *testing.T) {
	t.Parallel()
	for _, src := range []osdp.Source{osdp.NewBinary(stalled{}), osdp.NewHex(stalled{}), osdp.NewJSONLines(stalled{})} {
		_, _, err := scanAll(t, src)
		require.ErrorIs(t, err, io.ErrNoProgress)
	}
}

// What a scanner counts: all bytes, whole packets, those from devices, what failed its check, what is nothing.
func TestCounts(t *testing.T) {
	t.Parallel()
	bus := unhex(t, "FF FF 53 80 08 00 01 4B 01 D8 00 01 53 80 08 00 01 4B 01 D9 FF 53 00 08 00 04 60 EB AA")
	secret, err := osdp.Packet{Security: 0x18, Code: osdp.RAW, MAC: []byte{1, 2, 3, 4}}.Append(nil)
	require.NoError(t, err)
	bus = append(bus, secret...)
	_, counts, err := scanAll(t, osdp.NewBinary(bytes.NewReader(bus)))
	require.NoError(t, err)
	require.Equal(t, osdp.Counts{Bytes: int64(len(bus)), Packets: 3, Replies: 1, BadChecks: 1, Skipped: 10},
		counts)
}

func TestParseRefuses(t *testing.T) {
	t.Parallel()
	for s, kind := range map[string]error{
		"":                                 osdp.ErrShort,
		"53 80 08 00":                      osdp.ErrShort,
		"53 80 08 00 01 4B 01":             osdp.ErrShort,
		"FF 53 80 08 00 01 4B 01 D8":       osdp.ErrSyntax,
		"53 80 06 00 00 40 E7":             osdp.ErrSyntax, // shorter than any packet
		"53 80 FF FF 00 40 E7":             osdp.ErrSyntax, // longer than any packet
		"53 80 08 00 01 4B 01 D9":          osdp.ErrCheck,
		"54 80 08 00 01 4B 01 D7":          osdp.ErrSyntax, // all right but for its first byte
		"53 80 09 00 08 02 00 40 00":       osdp.ErrSyntax, // a security block of type 0
		"53 80 07 00 08 05 19":             osdp.ErrSyntax, // no room for a security block
		"53 80 09 00 08 01 11 40 CA":       osdp.ErrSyntax, // a security block of one byte
		"53 80 0A 00 08 09 17 40 00 BB":    osdp.ErrSyntax, // one that is longer than the packet
		"53 80 0B 00 08 02 17 40 00 00 C1": osdp.ErrSyntax, // no room for the authentication code
	} {
		b := unhex(t, s)
		if kind == osdp.ErrSyntax && len(b) > 7 { // put the checksum right, so that it is not what is refused
			b[len(b)-1] = osdp.Checksum(b[:len(b)-1])
		}
		p, n, err := osdp.Parse(b)
		require.ErrorIs(t, err, kind, s)
		require.Zero(t, n, s)
		require.Zero(t, p, s)
	}
	_, _, err := osdp.Parse(unhex(t, "53 80 06 00 00 40 E7"))
	require.ErrorContains(t, err, "length 6; a packet has 7 to 1440 bytes")
	_, _, err = osdp.Parse(unhex(t, "53 80 07 00 04 40 E7"))
	require.ErrorContains(t, err, "length 7; a packet has 8 to 1440 bytes")
}

// Packets of every length and every type of security block are written and read back, and none that does not fit is
// written.
func TestPacketsOfEverySize(t *testing.T) {
	t.Parallel()
	roundTrip := func(p osdp.Packet) int {
		b, err := p.Append([]byte("x"))
		require.NoError(t, err)
		got, n, err := osdp.Parse(b[1:])
		require.NoError(t, err)
		require.Equal(t, len(b)-1, n)
		require.Equal(t, p.Data, append([]byte{}, got.Data...))
		require.Equal(t, []any{p.Address, p.Reply, p.Sequence, p.CRC, p.Security, p.Code, p.MAC},
			[]any{got.Address, got.Reply, got.Sequence, got.CRC, got.Security, got.Code, got.MAC})
		return n
	}
	for size := range osdp.MaxPacket - 8 + 1 {
		require.Equal(t, 8+size, roundTrip(osdp.Packet{CRC: true, Code: 0x6B, Data: bytes.Repeat([]byte{0xA5}, size)}))
	}
	require.Equal(t, osdp.MaxPacket, roundTrip(osdp.Packet{Code: 0x6B, Data: make([]byte, osdp.MaxPacket-7)}))
	for kind := 1; kind < 256; kind++ {
		// Types 0x15 to 0x18 bring an authentication code, 0x17 and 0x18 are encrypted (from memory).
		p := osdp.Packet{Address: 0x7E, Reply: true, Sequence: 3, Security: byte(kind), Code: osdp.RAW, Data: []byte{1}}
		require.Equal(t, kind == 0x17 || kind == 0x18, p.Encrypted())
		wrong := p
		if kind >= 0x15 && kind <= 0x18 {
			p.MAC = []byte{1, 2, 3, 4}
		} else {
			wrong.MAC = []byte{1, 2, 3, 4}
		}
		roundTrip(p)
		_, err := wrong.Append(nil)
		require.ErrorIs(t, err, osdp.ErrSyntax)
	}
	for size := range 254 {
		p := osdp.Packet{Security: 0x11, Block: bytes.Repeat([]byte{7}, size), Code: 0x76, Data: []byte{1, 2}}
		roundTrip(p)
		b, _ := p.Append(nil)
		got, _, err := osdp.Parse(b)
		require.NoError(t, err)
		require.Equal(t, p.Block, got.Block)
	}
	for _, p := range []osdp.Packet{
		{Address: osdp.Broadcast + 1}, {Sequence: 4}, {CRC: true, Data: make([]byte, osdp.MaxPacket-7)},
		{Data: make([]byte, osdp.MaxPacket-6)}, {Security: 0x11, Block: make([]byte, 254)},
		{Block: []byte{1}}, {MAC: []byte{1, 2, 3, 4}}, {Security: 0x15, MAC: []byte{1, 2, 3}},
	} {
		b, err := p.Append([]byte("x"))
		require.ErrorIs(t, err, osdp.ErrSyntax)
		require.Equal(t, "x", string(b))
	}
}

func BenchmarkScanner(b *testing.B) {
	var bus []byte
	for _, p := range allPackets(b) {
		bus = append(append(bus, 0xFF), p...)
	}
	bus = bytes.Repeat(bus, 1000)
	b.SetBytes(int64(len(bus)))
	b.ReportAllocs()
	for b.Loop() {
		s := osdp.NewScanner(osdp.NewBinary(bytes.NewReader(bus)))
		n := 0
		for {
			if _, err := s.Next(); err != nil {
				break
			}
			n++
		}
		if n != 1000*(len(published)+len(built)) {
			b.Fatal(n)
		}
	}
}
