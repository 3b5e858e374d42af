// Package osdp reads the traffic of an RS-485 reader bus that speaks the open supervised device protocol (SIA OSDP v2,
// IEC 60839-11-5), and takes card reads and keypad entries out of it. It only listens.
//
// # Where to start
//
// [NewBinary], [NewHex], [NewLog] and [NewJSONLines] read recorded bytes in the form in which a serial adapter, a
// terminal or a trace program wrote them; [NewScanner] finds the packets, wherever in the bytes they begin;
// [Packet.Card] and [Packet.Keys] say what a reader sent. [Parse] takes a single packet apart, [Packet.Append] puts one
// together.
//
// # Packets
//
// A packet begins with 0x53, an address, and its length; it ends with a CRC of 16 bits or a checksum of 8. A bus
// carries commands from the controller and replies from the devices; bit 7 of the address byte marks a reply. Bytes of
// 0xFF may come before a packet. Since 0x53 may occur anywhere, a packet is one only where its length and its check
// agree with it.
//
// In a secure channel the data of most packets is encrypted. Such packets are found and named, but their data cannot be
// read without the session's key, and this package does not try.
//
// # Promises
//
// No function panics on any input; memory does not grow with the recording; nothing here opens a file or a port. Facts
// are those of SIA OSDP v2.1.7 and v2.2 as public texts quote them; where such a text was not found, the comment says
// "from memory".
//
// A card read or a keypad entry is a credential. Record only buses that you are authorised to service.
package osdp
