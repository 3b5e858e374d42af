// Package inorder does work on all processors and puts out what comes of it in the order in which it came in, in memory
// that does not grow with it.
package inorder

import "runtime"

// inFlight is how many pieces of work for each processor may be done and not written yet.
const inFlight = 4

type job[T any] struct {
	of   *T
	done chan struct{}
}

// Run reads pieces of work, does them, and writes them, until there are no more or one of these fails, and returns that
// error. read fills what take returns, which may have been in use before, and sends it on, until send returns false;
// it runs beside the rest, and may still be waiting for input when Run returns the error of write. worker is called
// once for each processor. write gets one piece after the other, and whether no other is about to follow it.
func Run[T any](
	read func(take func() *T, send func(*T) bool) error, worker func() func(*T), write func(t *T, last bool) error,
) error {
	workers := runtime.GOMAXPROCS(0)
	work, order := make(chan job[T], workers), make(chan job[T], inFlight*workers)
	for range workers {
		go func() {
			do := worker()
			for j := range work {
				do(j.of)
				close(j.done)
			}
		}()
	}
	spare, stop := make(chan *T, cap(order)+workers), make(chan struct{})
	take := func() *T {
		select {
		case t := <-spare:
			return t
		default:
			return new(T)
		}
	}
	var readErr error
	go func() {
		readErr = read(take, func(t *T) bool {
			j := job[T]{t, make(chan struct{})}
			select {
			case order <- j:
				work <- j
				return true
			case <-stop:
				return false
			}
		})
		close(work)
		close(order)
	}()
	for j := range order {
		<-j.done
		if err := write(j.of, len(order) == 0); err != nil {
			close(stop)
			return err
		}
		select {
		case spare <- j.of:
		default:
		}
	}
	return readErr
}
