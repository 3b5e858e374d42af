package evidence

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Long chip serials begin with who made the chip, so that those of one site mostly begin alike, and the rest is spread:
// the first byte of 7 is a maker's code (ISO/IEC 14443-3, ISO/IEC 7816-6); of 8 bytes the first is E0 and the second
// that code (ISO/IEC 15693-3).

// makerOf returns how many bits at the start of a field of so many say who made the chip.
func makerOf(f *formats.Format, role role, width int) int {
	switch {
	case f.Kind != formats.KindSerial || role != numberRole:
		return 0
	case width == 56:
		return 8
	case width == 64:
		return 16
	}
	return 0
}

// makerCode returns the probability of a maker's code of 8 bits: they are given out from 1 on, so that half of the
// chips are of one of as many bits as of another, and half of any; from 80 hex on hardly any are.
func makerCode(code uint64) float64 {
	const high, lower = judgement.MakerHigh, 1<<7 - 1
	n := bits.Len64(code)
	if n == 0 || n > 7 {
		return high / (1<<8 - lower)
	}
	return (1 - high) * (1.0/lower + density.Halved(n-1)/7) / 2
}

// madeBy returns the probability of the first bits of a serial.
func (m *fieldModel) madeBy(first uint64) float64 {
	if m.maker == 8 {
		return makerCode(first)
	}
	p := (1 - judgement.VicinitySerial) * math.Ldexp(1, -m.maker)
	if first>>8 == 0xE0 {
		p += judgement.VicinitySerial * makerCode(first&0xFF)
	}
	return p
}

// serials is the log probability of serials by who made the chips, and of all else that numbers can be, whose log is
// given.
func (m *fieldModel) serials(values []uint64, otherwise float64) float64 {
	rest := m.numbers.Width - m.maker
	first := make([]uint64, len(values))
	for i, v := range values {
		first[i] = v >> rest
	}
	made := density.FewLog(first, m.madeBy) - float64(len(values)*rest)*math.Ln2
	return logp.Add(math.Log(1-judgement.SerialMaker)+otherwise, math.Log(judgement.SerialMaker)+made)
}
