package inorder

import (
	"errors"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// Whatever the pieces take, they come out in order, each done once, and the reader's error comes behind them.
func TestInOrder(t *testing.T) {
	t.Parallel()
	const n = 500
	end := errors.New("end")
	var got []int
	err := Run(func(take func() *int, send func(*int) bool) error {
		for i := range n {
			p := take()
			*p = i
			assert.True(t, send(p))
		}
		return end
	}, func() func(*int) {
		return func(p *int) {
			time.Sleep(time.Duration(rand.IntN(100)) * time.Microsecond)
			*p = -*p
		}
	}, func(p *int, _ bool) error {
		got = append(got, *p)
		return nil
	})
	assert.Equal(t, end, err)
	assert.Len(t, got, n)
	for i, g := range got {
		assert.Equal(t, -i, g)
	}
}

// A piece that nothing follows is written as the last, while the reader waits for more.
func TestLast(t *testing.T) {
	t.Parallel()
	written := make(chan bool)
	assert.NoError(t, Run(func(take func() *int, send func(*int) bool) error {
		for range 3 {
			send(take())
			assert.True(t, <-written)
		}
		return nil
	}, func() func(*int) { return func(*int) {} }, func(_ *int, last bool) error {
		written <- last
		return nil
	}))
}

// Where writing fails, its error comes at once, though the reader waits for input; then the reader learns of it.
func TestWriteFails(t *testing.T) {
	t.Parallel()
	full := errors.New("no space left")
	input, ended := make(chan bool), make(chan bool)
	assert.Equal(t, full, Run(func(take func() *int, send func(*int) bool) error {
		send(take())
		<-input
		for send(take()) {
		}
		close(ended)
		return nil
	}, func() func(*int) { return func(*int) {} }, func(*int, bool) error { return full }))
	close(input)
	<-ended
}
