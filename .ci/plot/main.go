// Command plot draws the tables in testdata/calibration as SVG, beside them. The same tables give the same bytes.
package main

import (
	"bytes"
	"image/color"
	"log"
	"os"
	"path/filepath"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

func main() {
	if len(os.Args) < 2 {
		log.Fatal("plot: give the folder of the tables, and identify, learn or match for one of them alone")
	}
	for _, d := range drawings {
		if len(os.Args) < 3 || os.Args[2] == d.what {
			d.write(filepath.Join(os.Args[1], d.name))
		}
	}
}

// must returns v, and ends the program where there is an error.
func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal("plot: ", err)
	}
	return v
}

// drawing is one file: a table and how it is drawn.
type drawing struct {
	what, name string
	draw       func(t *table, c draw.Canvas)
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

// write draws the table of that path as SVG beside it.
func (d *drawing) write(path string) {
	c := vgsvg.New(width, d.size)
	page := draw.New(c)
	page.FillPolygon(color.White, []vg.Point{{}, {X: width}, {X: width, Y: d.size}, {Y: d.size}})
	d.draw(readTable(path+".csv"), page)
	var out bytes.Buffer
	must(c.WriteTo(&out))
	must(0, os.WriteFile(path+".svg", out.Bytes(), 0o644))
}
