package osdp

// crcTable is for the CRC of SIA OSDP Annex C: polynomial 0x1021, most significant bit first. With the initial value
// 0x1D0F it is the one that public catalogues of checksums call CRC-16/AUG-CCITT.
var crcTable = func() (t [256]uint16) {
	for i := range t {
		crc := uint16(i) << 8
		for range 8 {
			top := crc >> 15
			crc = crc<<1 ^ 0x1021*top
		}
		t[i] = crc
	}
	return t
}()

// CRC returns the CRC of the bytes of a packet up to the CRC itself. It is sent low byte first.
func CRC(p []byte) uint16 {
	crc := uint16(0x1D0F)
	for _, b := range p {
		crc = crc<<8 ^ crcTable[byte(crc>>8)^b]
	}
	return crc
}

// Checksum returns the checksum of the bytes of a packet up to the checksum itself: the byte that makes the sum of all
// zero, modulo 256.
func Checksum(p []byte) byte {
	sum := byte(0)
	for _, b := range p {
		sum += b
	}
	return -sum
}
