package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/recording"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

func (a *app) makeRecording(o captureOptions) error {
	switch {
	case o.out == "":
		return errors.New("capture: --make: no output; give -o FILE.vcd, or -o - for standard output")
	case o.made.Jitter < 0 || o.made.Jitter > 90:
		return fmt.Errorf("capture: --jitter %d: out of range; write 0 to 90 percent", o.made.Jitter)
	case o.made.Repeat < 1 || o.made.Repeat > 10000:
		return fmt.Errorf("capture: --repeat %d: out of range; write 1 to 10000", o.made.Repeat)
	}
	edges, coding, err := recording.Make(o.makeReads, o.made)
	if err != nil {
		return err
	}
	names := [2]string{coding.WireName(0), coding.WireName(1)}
	write := func(w io.Writer) error { return line.WriteVCD(w, names, slices.Values(edges)) }
	switch {
	case !strings.EqualFold(filepath.Ext(o.out), ".vcd") && o.out != "-":
		return fmt.Errorf("capture: -o %q: the name does not end in .vcd, which is what is written; name it so",
			say.Clip(o.out, 60))
	case o.out == "-":
		return write(a.out)
	}
	if err := a.replaceFile(o.out, write); err != nil {
		return err
	}
	a.remark("%s holds %s; try: cardtell capture %s", o.out, say.Count(len(o.makeReads)*o.made.Repeat, "read"), o.out)
	return nil
}
