package list

import "io"

// behind writes blocks in a goroutine, in the order in which they come.
type behind struct {
	full  chan []byte
	empty chan []byte
	done  chan struct{}
	err   error // once done is closed
}

func newBehind(out io.Writer) *behind {
	b := &behind{full: make(chan []byte, 1), empty: make(chan []byte, 2), done: make(chan struct{})}
	b.empty <- make([]byte, 0, blockSize+1<<12)
	go b.run(out)
	return b
}

func (b *behind) run(out io.Writer) {
	defer close(b.done)
	for block := range b.full {
		if _, err := out.Write(block); err != nil {
			b.err = err
			return
		}
		b.empty <- block[:0]
	}
}

// write hands a block over and returns an empty one. The error is that of a block before.
func (b *behind) write(block []byte) ([]byte, error) {
	select {
	case b.full <- block:
	case <-b.done:
		return block, b.err
	}
	select {
	case block = <-b.empty:
		return block, nil
	case <-b.done:
		return block[:0], b.err
	}
}

// end waits until all is written. A nil behind has nothing to write.
func (b *behind) end() error {
	if b == nil {
		return nil
	}
	close(b.full)
	<-b.done
	return b.err
}
