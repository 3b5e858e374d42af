package osdp

import "fmt"

const (
	start     = 0x53 // first byte of a packet
	marking   = 0xFF // may come before it
	replyBit  = 0x80 // in the address byte
	headerLen = 5    // start, address, two bytes of length, control

	// Broadcast is the address that all devices answer to.
	Broadcast = 0x7F
	// MaxPacket is the length of the longest packet in bytes.
	MaxPacket = 1440
)

// bits of the control byte
const (
	ctrlSequence = 0x03
	ctrlCRC      = 0x04
	ctrlSecurity = 0x08
	ctrlUnknown  = 0xF0
)

// Packet is one packet of the bus.
type Packet struct {
	Address  byte // 0 to 0x7E, or Broadcast
	Reply    bool // from a device; else from the controller
	Sequence byte // 0 to 3; 0 begins a new connection
	CRC      bool // checked by a CRC of 16 bits; else by a checksum of 8
	Unknown  byte // bits of the control byte that mean nothing in the standard, 0x10 to 0x80; 0 in nearly every packet
	Security byte // type of the security block, 0x11 to 0x18; 0 where there is none
	Block    []byte
	Code     byte   // what the packet says, from which Name comes
	Data     []byte // that belongs to Code, encrypted where Encrypted says so; without the message authentication code
	MAC      []byte // the message authentication code of a secure packet, 4 bytes, or nil
}

// macLen is the length of the message authentication code that security block types 0x15 to 0x18 bring (from memory).
const macLen = 4

// Encrypted tells whether the data cannot be read without the session's key: security block types 0x17 and 0x18 (from
// memory). The code itself is not encrypted.
func (p Packet) Encrypted() bool { return p.Security == 0x17 || p.Security == 0x18 }

// hasMAC tells whether a security block of this type brings a message authentication code.
func hasMAC(security byte) bool { return 0x15 <= security && security <= 0x18 }

// names are of the codes in SIA OSDP v2.2, as public texts list them.
var names = [2]map[byte]string{
	{
		0x60: "POLL", 0x61: "ID", 0x62: "CAP", 0x64: "LSTAT", 0x65: "ISTAT", 0x66: "OSTAT", 0x67: "RSTAT", 0x68: "OUT",
		0x69: "LED", 0x6A: "BUZ", 0x6B: "TEXT", 0x6E: "COMSET", 0x75: "KEYSET", 0x76: "CHLNG", 0x77: "SCRYPT",
	},
	{
		0x40: "ACK", 0x41: "NAK", 0x45: "PDID", 0x46: "PDCAP", 0x48: "LSTATR", 0x49: "ISTATR", 0x4A: "OSTATR",
		0x4B: "RSTATR", RAW: "RAW", FMT: "FMT", KEYPAD: "KEYPAD", 0x54: "COM", 0x76: "CCRYPT", 0x78: "RMAC_I", 0x79: "BUSY",
	},
}

// Name returns what the standard calls the packet's code, such as "POLL" or "RAW"; the code in hex where it is unknown.
func (p Packet) Name() string {
	if s, ok := names[p.direction()][p.Code]; ok {
		return s
	}
	return fmt.Sprintf("0x%02X", p.Code)
}

// direction is the place of a packet's code in tables: 0 for a command, 1 for a reply.
func (p Packet) direction() int {
	if p.Reply {
		return 1
	}
	return 0
}

// Parse takes apart the packet that begins with the first byte of b, which must be 0x53: marking bytes are no part of a
// packet. It returns the packet, whose slices are parts of b, and its length. The error is ErrShort where b ends before
// the packet does, ErrSyntax where b begins with no packet, ErrCheck where the CRC or checksum is wrong.
func Parse(b []byte) (p Packet, n int, err error) {
	const op = "read packet"
	if len(b) < headerLen {
		return p, 0, fail(op, ErrShort, "%d bytes; a packet has at least 7", len(b))
	}
	if b[0] != start {
		return p, 0, fail(op, ErrSyntax, "begins with 0x%02X; a packet begins with 0x53", b[0])
	}
	ctrl := b[4]
	tail := 1
	if ctrl&ctrlCRC != 0 {
		tail = 2
	}
	n = int(b[2]) | int(b[3])<<8
	switch {
	case n < headerLen+1+tail || n > MaxPacket:
		return p, 0, fail(op, ErrSyntax, "length %d; a packet has %d to %d bytes", n, headerLen+1+tail, MaxPacket)
	case len(b) < n:
		return p, 0, fail(op, ErrShort, "%d of %d bytes", len(b), n)
	}
	if !checks(b[:n], tail) {
		return p, 0, fail(op, ErrCheck, "%s wrong", [...]string{1: "checksum", 2: "CRC"}[tail])
	}
	p = Packet{Address: b[1] &^ replyBit, Reply: b[1]&replyBit != 0, Sequence: ctrl & ctrlSequence, CRC: tail == 2,
		Unknown: ctrl & ctrlUnknown}
	if err := p.body(b[headerLen:n-tail], ctrl&ctrlSecurity != 0); err != nil {
		return Packet{}, 0, err
	}
	if p.Unknown != 0 && !p.CRC && !p.fits() {
		return Packet{}, 0, fail(op, ErrCheck, "control byte 0x%02X has bits set that mean nothing, and a checksum alone does not "+
			"make up for that", ctrl)
	}
	return p, n, nil
}

// sizes are how much data goes with the codes that always have the same, in bytes (SIA OSDP v2.2, from memory).
var sizes = [2]map[byte]int{
	{0x60: 0, 0x61: 1, 0x62: 1, 0x64: 0, 0x65: 0, 0x66: 0, 0x67: 0, 0x6E: 5},
	{0x40: 0, 0x45: 12, 0x48: 2, 0x54: 5, 0x79: 0},
}

// fits tells whether the code is in the standard, and the data is what goes with it as far as that is known.
func (p Packet) fits() bool {
	_, known := names[p.direction()][p.Code]
	size, fixed := sizes[p.direction()][p.Code]
	switch {
	case !known || p.Encrypted():
		return known
	case fixed:
		return len(p.Data) == size
	case p.Reply && p.Code == KEYPAD:
		_, err := p.Keys()
		return err == nil
	case p.Reply && (p.Code == RAW || p.Code == FMT):
		_, err := p.Card()
		return err == nil
	}
	return true
}

// checks tells whether a packet's last bytes are its CRC or checksum.
func checks(b []byte, tail int) bool {
	body := b[:len(b)-tail]
	if tail == 2 {
		return CRC(body) == uint16(b[len(body)])|uint16(b[len(body)+1])<<8
	}
	return Checksum(body) == b[len(body)]
}

// body takes apart what is between the header and the check.
func (p *Packet) body(b []byte, secured bool) error {
	const op = "read packet"
	if secured {
		if len(b) < 2 || int(b[0]) < 2 || int(b[0]) >= len(b) {
			return fail(op, ErrSyntax, "its security block does not fit into it")
		}
		if b[1] == 0 {
			return fail(op, ErrSyntax, "a security block of type 0; there is none")
		}
		p.Security, p.Block = b[1], b[2:b[0]]
		b = b[b[0]:]
		if hasMAC(p.Security) {
			if len(b) < 1+macLen {
				return fail(op, ErrSyntax, "no room for a message authentication code")
			}
			p.MAC = b[len(b)-macLen:]
			b = b[:len(b)-macLen]
		}
	}
	p.Code, p.Data = b[0], b[1:]
	return nil
}

// Append appends the packet as bytes, without marking bytes; [Parse] reads it back. The error is ErrSyntax where a part
// of it does not fit.
func (p Packet) Append(dst []byte) ([]byte, error) {
	const op = "write packet"
	secured := p.Security != 0
	tail, ctrl := 1, p.Sequence|p.Unknown
	if p.CRC {
		tail, ctrl = 2, ctrl|ctrlCRC
	}
	n := headerLen + 1 + len(p.Data) + tail
	if secured {
		ctrl |= ctrlSecurity
		n += 2 + len(p.Block) + len(p.MAC)
	}
	switch {
	case p.Address > Broadcast || p.Sequence > ctrlSequence || p.Unknown&^ctrlUnknown != 0 || n > MaxPacket ||
		len(p.Block) > 253:
		return dst, fail(op, ErrSyntax, "address %d, sequence %d or length %d does not fit", p.Address, p.Sequence, n)
	case secured && hasMAC(p.Security) != (len(p.MAC) == macLen) || !secured && len(p.Block)+len(p.MAC) > 0:
		return dst, fail(op, ErrSyntax, "security block type 0x%02X and %d bytes of authentication code", p.Security,
			len(p.MAC))
	}
	from := len(dst)
	address := p.Address
	if p.Reply {
		address |= replyBit
	}
	dst = append(dst, start, address, byte(n), byte(n>>8), ctrl)
	if secured {
		dst = append(append(dst, byte(2+len(p.Block)), p.Security), p.Block...)
	}
	dst = append(append(append(dst, p.Code), p.Data...), p.MAC...)
	if p.CRC {
		crc := CRC(dst[from:])
		return append(dst, byte(crc), byte(crc>>8)), nil
	}
	return append(dst, Checksum(dst[from:])), nil
}
