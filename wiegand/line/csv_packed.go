package line

import (
	"bytes"
	"fmt"
	"strings"
)

// packed is a column whose cells hold several signals as one number, such as 0x1F, 1Fh or 0b0011, or 1F below
// "Bus (hex)": how many there are.
type packed struct{ at, width, bare int }

const (
	// leastPacked is how many signals a number in hex holds at least, since some writers leave zeros before it out;
	// mostPacked is what any may hold.
	leastPacked, mostPacked = 16, 64
	// leastBare is how many 0s and 1s are a number of as many bits without saying so.
	leastBare = 8
)

// levelCells are the cells of a signal that was unpacked.
var levelCells = [2][]byte{[]byte("0"), []byte("1")}

// packedDigits returns the digits of a cell that holds several signals, and how many each is: that is how the cell is
// written, or bare is what the head of the column says.
func packedDigits(cell []byte, bare int) (digits []byte, each int) {
	n := len(cell)
	switch {
	case bare > 0:
		digits, each = cell, bare
	case n > 2 && cell[0] == '0' && cell[1]|0x20 == 'x':
		digits, each = cell[2:], 4
	case n > 2 && cell[0] == '0' && cell[1]|0x20 == 'b':
		digits, each = cell[2:], 1
	case n > 1 && cell[n-1]|0x20 == 'h' && cell[0] <= '9':
		digits, each = cell[:n-1], 4
	case n >= leastBare:
		digits, each = cell, 1
	default:
		return nil, 0
	}
	all := "0123456789abcdefABCDEF"
	if each == 1 {
		all = "01"
	}
	if n == 0 || len(bytes.Trim(digits, all)) > 0 {
		return nil, 0
	}
	return digits, each
}

// unpack appends a cell for each signal in a cell, the last bit first; false where it does not hold as many.
func (p packed) unpack(cells [][]byte, cell []byte) ([][]byte, bool) {
	digits, each := packedDigits(cell, p.bare)
	if each == 0 || len(digits)*each > max(p.width, leastPacked) {
		return cells, false
	}
	for bit := range p.width {
		value := 0
		if i := len(digits) - 1 - bit/each; i >= 0 {
			value = strings.IndexByte("0123456789abcdef", digits[i]|0x20)
		}
		at := value >> (bit % each) & 1
		cells = append(cells, levelCells[at])
	}
	return cells, true
}

// findPacked finds the columns that hold several signals, in the first row, and puts these behind the last one.
func (c *CSV) findPacked() {
	c.packed = c.packed[:0]
	for i, cell := range c.cells {
		bare := bareIn(c.header[i])
		digits, each := packedDigits(cell, bare)
		if each == 0 {
			bare = 0
			digits, each = packedDigits(cell, bare)
		}
		if i == c.timeAt || each == 0 || isEventColumn(c.header[i]) || len(digits)*each > mostPacked {
			continue
		}
		p := packed{i, len(digits) * each, bare}
		if each > 1 {
			p.width = max(p.width, leastPacked)
		}
		c.packed = append(c.packed, p)
	}
	for _, p := range c.packed {
		name, _, _ := strings.Cut(c.header[p.at], "[")
		for bit := range p.width {
			c.header = append(c.header, fmt.Sprintf("%s[%d]", name, bit))
		}
		c.cells, _ = p.unpack(c.cells, c.cells[p.at])
	}
}

// bareIn returns how many signals a digit is by the head of a column, such as "Bus (hex)": 0 where that says nothing.
func bareIn(name string) int {
	switch {
	case hasWord(name, "hex"):
		return 4
	case hasWord(name, "bin", "binary", "bits"):
		return 1
	}
	return 0
}
