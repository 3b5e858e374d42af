package line

import (
	"bufio"
	"fmt"
	"io"
	"iter"
	"strconv"
	"strings"
)

// WriteVCD writes edges as a value change dump of two signals with a time scale of 1 ns, such as [VCD] and any viewer
// of such files reads. The same edges make the same bytes. names are the signals'; white space in them becomes _. An
// edge of NoWire writes the time alone: give one at the end, so that a reader sees that the last read is whole. The
// error is ErrTime where a time is negative or runs backwards, ErrLevel where a level is [Pulsed], and that of w.
func WriteVCD(w io.Writer, names [2]string, edges iter.Seq[Edge]) error {
	const op = "write VCD"
	out := bufio.NewWriter(w)
	fmt.Fprint(out, "$timescale 1 ns $end\n$scope module line $end\n")
	for i, name := range names {
		fmt.Fprintf(out, "$var wire 1 %c %s $end\n", '!'+i, strings.Join(strings.Fields(name), "_"))
	}
	fmt.Fprint(out, "$upscope $end\n$enddefinitions $end\n")
	now := Edge{At: -1}
	var num []byte
	for e := range edges {
		switch {
		case e.At < 0 || e.At < now.At:
			return &Error{Op: op, Input: e.At.String(), Reason: "a time that is negative or runs backwards", Err: ErrTime}
		case e.Wire <= Data1 && e.Level > High:
			return &Error{Op: op, Input: e.Level.String(), Reason: "a level is low, high or unknown", Err: ErrLevel}
		}
		if e.At != now.At {
			num = strconv.AppendInt(append(num[:0], '#'), int64(e.At), 10)
			out.Write(append(num, '\n'))
			now = e
		}
		if e.Wire <= Data1 {
			out.Write([]byte{"x01"[e.Level], '!' + byte(e.Wire), '\n'})
		}
	}
	return out.Flush()
}
