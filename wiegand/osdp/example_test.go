package osdp_test

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// Bytes of a bus in hex: a poll, some garbage, a card from device 1 and a keypad entry from device 0.
func ExampleScanner() {
	text := `53 00 08 00 04 60 EB AA
	         53 11 22 FF FF
	         53 81 11 00 06 50 00 01 25 00 18 1C 9E 24 08 88 02
	         53 80 0F 00 05 53 00 05 31 32 33 34 0D 7B 38`
	s := osdp.NewScanner(osdp.NewHex(strings.NewReader(text)))
	for {
		p, err := s.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Print(p.Name(), " address ", p.Address)
		if card, err := p.Card(); err == nil {
			fmt.Print(" card ", card.Bits.Hex())
		}
		if keys, err := p.Keys(); err == nil {
			fmt.Print(" keys ", keys.Masked())
		}
		fmt.Println()
	}
	fmt.Println(s.Counts().Skipped, "bytes skipped")
	// Output:
	// POLL address 0
	// RAW address 1 card 37:030393C481
	// KEYPAD address 0 keys •••••
	// 3 bytes skipped
}

// SIA OSDP Annex E, CRC example 2.
func ExampleParse() {
	p, n, err := osdp.Parse([]byte{0x53, 0x00, 0x09, 0x00, 0x04, 0x61, 0x00, 0xC0, 0x66})
	fmt.Println(p.Name(), p.Address, p.Sequence, p.CRC, n, err)
	// Output: ID 0 0 true 9 <nil>
}

func ExamplePacket_Append() {
	b, err := osdp.Packet{Address: 0, CRC: true, Code: 0x60}.Append(nil)
	fmt.Printf("% X %v\n", b, err)
	// Output: 53 00 08 00 04 60 EB AA <nil>
}

func ExampleCRC() {
	fmt.Printf("%04X\n", osdp.CRC([]byte("123456789"))) // the check value of public catalogues
	// Output: E5CC
}

func ExampleNewJSONLines() {
	text := `{"at_s": 1580342115.984691851, "hex": "ff ff 53 80 08 00 01 4b 01 d8"}`
	p, err := osdp.NewScanner(osdp.NewJSONLines(strings.NewReader(text))).Next()
	fmt.Println(p.Name(), p.Reply, p.Timed, p.At, err)
	// Output: RSTATR true true 438983h55m15.984691851s <nil>
}
