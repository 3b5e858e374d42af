package line

import "time"

// queue is the edges that a recording has told of and that are not given yet.
type queue struct {
	edges [8]Edge
	n     int
	told  time.Duration // time of the edge given last
	err   error         // why there are no more
}

func (q *queue) push(e Edge) {
	if q.n < len(q.edges) {
		q.edges[q.n] = e
		q.n++
	}
}

// next gives the next edge, for which it may read more. After an error of read but a timeout it calls finish, which may
// push a last edge and change the error; then the error stays.
func (q *queue) next(read func() error, finish func()) (Edge, error) {
	for q.n == 0 {
		if q.err != nil {
			return Edge{}, q.err
		}
		err := read()
		if err == nil {
			continue
		}
		if isTimeout(err) {
			return Edge{}, err
		}
		q.err = err
		finish()
	}
	e := q.edges[0]
	q.n--
	copy(q.edges[:], q.edges[1:])
	q.told = e.At
	return e, nil
}
