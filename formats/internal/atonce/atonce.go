// Package atonce does work on several processors.
package atonce

import (
	"sync"
	"sync/atomic"
)

// Do calls do with 0 to n-1, several at once, in no order.
func Do(n int, do func(int)) {
	const most = 4 // more would wait for one another: what is shared out takes a millisecond or two
	var next atomic.Int64
	var workers sync.WaitGroup
	for range min(n, most) {
		workers.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	workers.Wait()
}
