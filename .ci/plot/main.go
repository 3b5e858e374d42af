// Command plot draws the tables in testdata/calibration as SVG, beside them. The same tables give the same bytes.
package main

import (
	"fmt"
	"image/color"
	"os"
	"path/filepath"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

func main() {
	if len(os.Args) < 2 {
		fmt.Fprintln(os.Stderr, "plot: give the folder of the tables, and identify, learn or match for one of them alone")
		os.Exit(2)
	}
	if err := run(os.Args[1], os.Args[2:]); err != nil {
		fmt.Fprintln(os.Stderr, "plot:", err)
		os.Exit(1)
	}
}

// drawing is one file: a table and how it is drawn.
type drawing struct {
	what, name string
	draw       func(t *table, c draw.Canvas) error
	size       vg.Length // height; all are as wide
}

const width = 16 * vg.Centimeter

var drawings = []drawing{
	{"identify", "identify-reliability", reliability("identify: stated and true", "sites"), 17 * vg.Centimeter},
	{"identify", "identify-cards", cards("identify: right answers by the number of cards", 0.8), 11 * vg.Centimeter},
	{"learn", "learn-reliability", reliability("learn: stated and true", "samples"), 17 * vg.Centimeter},
	{"learn", "learn-cards", cards("learn: right predictions by the number of cards", 0), 11 * vg.Centimeter},
	{"match", "match-reliability", reliability("match: stated and true", "cards"), 17 * vg.Centimeter},
}

func run(folder string, which []string) error {
	for _, d := range drawings {
		if len(which) > 0 && which[0] != d.what {
			continue
		}
		t, err := readTable(filepath.Join(folder, d.name+".csv"))
		if err != nil {
			return err
		}
		if err := d.write(t, filepath.Join(folder, d.name+".svg")); err != nil {
			return fmt.Errorf("%s: %w", d.name, err)
		}
	}
	return nil
}

func (d *drawing) write(t *table, path string) error {
	c := vgsvg.New(width, d.size)
	page := draw.New(c)
	page.FillPolygon(color.White, []vg.Point{{}, {X: width}, {X: width, Y: d.size}, {Y: d.size}})
	if err := d.draw(t, page); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	if _, err := c.WriteTo(f); err != nil {
		f.Close() //nolint:errcheck // the other failure is reported
		return err
	}
	return f.Close()
}
