package osdp_test

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/wiegand/osdp"
)

// The bytes of a bus as they are, such as a file that a serial port was copied into.
func ExampleNewBinary() {
	poll := []byte{0x53, 0x00, 0x08, 0x00, 0x04, 0x60, 0xEB, 0xAA} // SIA OSDP Annex E, CRC example 1
	s := osdp.NewScanner(osdp.NewBinary(bytes.NewReader(poll)))
	p, err := s.Next()
	fmt.Println(p.Name(), p.Address, err)
	// Output: POLL 0 <nil>
}

// A log of a terminal: the bytes are found among its words.
func ExampleNewLog() {
	log := "[12:00:01.250] TX: 53 00 08 00 04 60 EB AA" // SIA OSDP Annex E, CRC example 1
	s := osdp.NewScanner(osdp.NewLog(strings.NewReader(log)))
	p, err := s.Next()
	fmt.Println(p.Name(), p.Address, err)
	// Output: POLL 0 <nil>
}

// Short packets may end in a sum of their bytes instead of a CRC: all bytes and the check add up to 0 modulo 256.
func ExampleChecksum() {
	p := []byte{0x53, 0x00, 0x07, 0x00, 0x00, 0x60}
	sum := osdp.Checksum(p)
	for _, b := range p {
		sum += b
	}
	fmt.Println(sum)
	// Output: 0
}
