package fuzz

import (
	"bytes"
	"encoding/hex"
	"errors"
	"io"
	"testing"
	"testing/iotest"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// FuzzPackets looks for packets in any bytes. Whatever is found must be written back as the bytes at its place; packets
// must not overlap; every byte is a packet's, a marking byte or counted as skipped; and how the bytes come does not
// matter.
func FuzzPackets(f *testing.F) {
	for _, s := range []string{
		"537f0d00046e00802500006e38",                // SIA OSDP Annex E, CRC example 1
		"530008000061" + "0044",                     // Annex E, checksum example 2
		"ffff5380080001" + "4b01d8",                 // SIA's note on capture files, with marking bytes
		"5380100005500001" + "1a00ea0dc0806d4b",     // a card
		"53800f00055300053132333" + "40d7b38",       // keys
		"53805353805300080004" + "60ebaa53800800",   // false starts
		"538014000c0217" + "50a5a5a5a5010203040000", // encrypted
	} {
		b, err := hex.DecodeString(s)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		s := osdp.NewScanner(osdp.NewBinary(bytes.NewReader(b)))
		again := osdp.NewScanner(osdp.NewBinary(iotest.OneByteReader(bytes.NewReader(b))))
		covered, end := int64(0), int64(0)
		for {
			p, err := s.Next()
			q, err2 := again.Next()
			if err != err2 || err == nil && (p.Offset != q.Offset || p.Code != q.Code || !bytes.Equal(p.Data, q.Data)) {
				t.Fatalf("%+v %v, byte by byte %+v %v", p, err, q, err2)
			}
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
			raw, err := p.Append(nil)
			if err != nil || p.Offset < end || !bytes.HasPrefix(b[p.Offset:], raw) {
				t.Fatalf("%+v is written as %x, %v", p, raw, err)
			}
			end = p.Offset + int64(len(raw))
			covered += int64(len(raw))
			var e *osdp.Error
			if _, err := p.Card(); err != nil && !errors.As(err, &e) {
				t.Fatal(err)
			}
			if k, err := p.Keys(); err != nil && !errors.As(err, &e) || err == nil && len([]rune(k.Masked())) != k.Count {
				t.Fatal(k, err)
			}
		}
		c := s.Counts()
		marks := c.Bytes - covered - c.Skipped
		if c.Bytes != int64(len(b)) || marks < 0 || marks > int64(bytes.Count(b, []byte{0xFF})) {
			t.Fatalf("%d bytes, %d in packets, %+v", len(b), covered, c)
		}
	})
}
