package roster

// pile is a long list that grows without being copied: there may be a million rows.
type pile[T any] struct {
	blocks [][]T
	n      int
}

// pileBlock is how many there are in a block, as a power of two.
const pileBlock = 14

func (p *pile[T]) add(v T) {
	if p.n&(1<<pileBlock-1) == 0 {
		p.blocks = append(p.blocks, make([]T, 0, min(1<<pileBlock, max(64, p.n))))
	}
	last := &p.blocks[len(p.blocks)-1]
	*last = append(*last, v)
	p.n++
}

func (p *pile[T]) at(i int32) *T { return &p.blocks[i>>pileBlock][i&(1<<pileBlock-1)] }
