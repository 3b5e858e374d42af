package list

import (
	"crypto/hmac"
	"crypto/rand"
	"crypto/sha256"
	"encoding/hex"
	"hash"
)

// Masker turns card numbers into masks for sharing: the same number into the same mask within one run, and into another
// in the next. The key is made for the run and never written, so that nobody can find a number by masking all of them.
type Masker struct{ mac hash.Hash }

// NewMasker makes a masker with a new key.
func NewMasker() *Masker {
	key := make([]byte, sha256.Size)
	rand.Read(key) //nolint:errcheck // it never fails (crypto/rand)
	return &Masker{mac: hmac.New(sha256.New, key)}
}

// maskBytes is how much of the digest a mask has: short enough to be read out, and with 10,000 numbers the chance that
// two share one is 1 in 5 million.
const maskBytes = 6

// Append appends the mask of a number.
func (m *Masker) Append(dst, number []byte) []byte {
	m.mac.Reset()
	m.mac.Write(number)
	var sum [sha256.Size]byte
	dst = append(dst, "masked-"...)
	return hex.AppendEncode(dst, m.mac.Sum(sum[:0])[:maskBytes])
}

// Mask returns what Append appends.
func (m *Masker) Mask(number string) string { return string(m.Append(nil, []byte(number))) }
