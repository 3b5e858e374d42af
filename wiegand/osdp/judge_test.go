package osdp_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// Bits of the control byte that mean nothing in the standard do not hide a card: they are noted. With a checksum alone
// the rest must be what the standard has.
func TestUnknownControlBitsAreNoted(t *testing.T) {
	t.Parallel()
	card := osdp.Packet{Reply: true, Sequence: 1, Code: osdp.RAW, Data: unhex(t, "00 01 1A 00 EA 0D C0 80")}
	keys := osdp.Packet{Reply: true, Sequence: 1, Code: osdp.KEYPAD, Data: unhex(t, "00 02 31 32")}
	for _, crc := range []bool{false, true} {
		for bits := 0x10; bits <= 0xF0; bits += 0x10 {
			card.CRC, keys.CRC, card.Unknown, keys.Unknown = crc, crc, byte(bits), byte(bits)
			b, err := card.Append(nil)
			require.NoError(t, err)
			require.Equal(t, byte(bits), b[4]&0xF0)
			b, err = keys.Append(b)
			require.NoError(t, err)
			all, _, err := scanAll(t, osdp.NewBinary(bytes.NewReader(b)))
			require.NoError(t, err)
			require.Len(t, all, 2)
			require.Equal(t, byte(bits), all[0].Unknown)
			c, err := all[0].Card()
			require.NoError(t, err)
			require.Equal(t, 26, c.Bits.Len())
			require.Contains(t, c.Note, "bits of the control byte are set that mean nothing")
			k, err := all[1].Keys()
			require.NoError(t, err)
			require.Contains(t, k.Note, "bits of the control byte")
		}
	}
	card.Unknown = 1
	_, err := card.Append(nil)
	require.ErrorIs(t, err, osdp.ErrSyntax)
	c, err := osdp.Packet{Reply: true, Unknown: 0x80, Code: osdp.RAW, Data: unhex(t, "00 01 01 00 81")}.Card()
	require.NoError(t, err)
	require.Contains(t, c.Note, "spare bits after the last one are not zero; the count of bits may be wrong; bits of the control byte")
	_, _, err = osdp.Parse(unhex(t, "53 80 08 00 10 99 00 7C"))
	require.ErrorIs(t, err, osdp.ErrCheck)
	require.ErrorContains(t, err, "a checksum alone does not make up for that")
}

// steps gives its pieces one at a time, and fails the test where it is asked for more than there are.
type steps struct {
	t      *testing.T
	pieces [][]byte
}

func (s *steps) Next() (osdp.Piece, error) {
	if len(s.pieces) == 0 {
		s.t.Fatal("waits for bytes though a whole packet is there")
	}
	p := s.pieces[0]
	s.pieces = s.pieces[1:]
	return osdp.Piece{Bytes: p}, nil
}

// A false start that says that 1400 bytes are to come does not hold back the packet behind it.
func TestFalseStartHoldsNothingBack(t *testing.T) {
	t.Parallel()
	for _, p := range allPackets(t) {
		for _, false1 := range []string{"53 00 78 05 04", "53 80 78 05 04 53 81 00 02 04 60", "53", "53 53 53",
			"53 80 20 00 00 50"} {
			bus := append(unhex(t, false1), p...)
			s := osdp.NewScanner(&steps{t, [][]byte{bus[:3], bus[3:]}})
			f, err := s.Next()
			require.NoError(t, err)
			got, err := f.Append(nil)
			require.NoError(t, err)
			require.Equal(t, p, got, false1)
		}
	}
}

// A source that goes quiet in the middle of a packet has no more of it: what is whole behind its beginning is a packet.
func TestQuietSourceEndsAPacket(t *testing.T) {
	t.Parallel()
	odd := osdp.Packet{Reply: true, Code: 0xC7, Data: []byte{1, 2}} // a code that no standard has, with a checksum
	b, err := odd.Append(unhex(t, "53 00 78 05 04"))
	require.NoError(t, err)
	s := osdp.NewScanner(osdp.NewBinary(&timeouts{r: bytes.NewReader(b), size: len(b)}))
	_, err = s.Next()
	require.ErrorIs(t, err, timeoutError{})
	f, err := s.Next()
	require.NoError(t, err)
	require.Equal(t, byte(0xC7), f.Code)
}

// TestChecksumsSwallowNothing puts before each packet bytes that look like a packet whose checksum of eight bits is
// right by chance, and which would end in the middle of it. Every packet must be found.
func TestChecksumsSwallowNothing(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(seed, 2))
	all := allPackets(t)
	swallowed, packets := 0, 0
	for range 5000 {
		p := all[rng.IntN(len(all))]
		n := 7 + rng.IntN(12) // of the false packet, of which the last bytes are the first of p
		over := 1 + rng.IntN(min(n-6, len(p)-1))
		fake := []byte{0x53, byte(rng.IntN(256)), byte(n), 0, byte(rng.IntN(4)), byte(rng.IntN(256))}
		for len(fake) < n-over {
			fake = append(fake, byte(rng.IntN(256)))
		}
		sum := byte(0) // make the sum of all zero with the code
		for _, c := range append(bytes.Clone(fake), p[:over]...) {
			sum += c
		}
		fake[5] -= sum
		before := all[rng.IntN(len(all))]
		bus := append(append(append(bytes.Clone(before), 0x00), fake...), p...)
		got, _, err := scanAll(t, osdp.NewBinary(bytes.NewReader(bus)))
		require.NoError(t, err)
		packets++
		found := false
		for _, f := range got {
			raw, err := f.Append(nil)
			require.NoError(t, err)
			found = found || bytes.Equal(raw, p) && f.Offset == int64(len(bus)-len(p))
		}
		if !found {
			swallowed++
		}
	}
	t.Logf("%d of %d packets swallowed, seed %d", swallowed, packets, seed)
	require.Zero(t, swallowed, "seed %d", seed)
}

// An intact packet with a checksum is found though its own data looks like the beginning of another one.
func TestChecksumPacketWithAStartInside(t *testing.T) {
	t.Parallel()
	p := osdp.Packet{Reply: true, Sequence: 2, Code: osdp.FMT, Data: append([]byte{0, 1, 9},
		unhex(t, "53 80 10 00 05 50 00 01 1A")...)}
	b, err := p.Append(nil)
	require.NoError(t, err)
	s := osdp.NewScanner(osdp.NewBinary(&timeouts{r: bytes.NewReader(b), size: len(b)}))
	f, err := s.Next()
	if err != nil {
		require.ErrorIs(t, err, timeoutError{})
		f, err = s.Next()
	}
	require.NoError(t, err)
	require.Equal(t, byte(osdp.FMT), f.Code)
	_, err = s.Next()
	for err != nil && err != io.EOF {
		_, err = s.Next()
	}
	require.Equal(t, io.EOF, err)
}
