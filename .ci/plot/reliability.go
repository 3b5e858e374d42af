package main

import (
	"image/color"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// reliability draws what was stated against what came true, with the band of each bin, and how many there are in each
// below.
func reliability(title, cases string) func(*table, draw.Canvas) {
	return func(t *table, c draw.Canvas) {
		above := panel(title, "stated (mean of the bin; bins of fewer than 10 are counted below, not drawn)", "came true")
		below := panel("", "stated", "number of "+cases)
		diagonal := draw.LineStyle{Color: color.Black, Width: vg.Points(1), Dashes: points(1.5, 2.5)}
		rule(above, "as stated", plotter.XYs{{X: 0, Y: 0}, {X: 1, Y: 1}}, diagonal)
		names, rows := t.series()
		most := 0.0
		for i, name := range names {
			most = max(most, addBins(t, above, below, looks[i], name, rows[name], i, len(names)))
		}
		above.X.Min, above.X.Max, above.Y.Min, above.Y.Max = 0, 1, 0, 1
		above.X.Tick.Marker, above.Y.Tick.Marker = percents(0, 0.1), percents(0, 0.1)
		above.Legend.XOffs, above.Legend.YOffs = -vg.Points(8), vg.Points(8)
		below.X.Min, below.X.Max, below.Y.Min, below.Y.Max = 0, 1, 0, math.Log10(most)+0.6
		below.X.Tick.Marker, below.Y.Tick.Marker = percents(0, 0.1), powers(most)
		stack(c, above, below)
	}
}

// addBins adds one series to both panels, and returns the largest number in a bin.
func addBins(t *table, above, below *plot.Plot, l look, name string, rows [][]string, k, of int) (most float64) {
	var at plotter.XYs
	var band plotter.YErrors
	for _, r := range rows {
		n, y := t.number(r, "n"), t.number(r, "true")
		if n >= 10 {
			at = append(at, plotter.XY{X: t.number(r, "stated") + l.shift, Y: y})
			band = append(band, struct{ Low, High float64 }{y - t.number(r, "low"), t.number(r, "high") - y})
		}
		most = max(most, n)
		addCount(below, l, t.number(r, "from"), t.number(r, "to"), n, k, of)
	}
	curve(above, l, name+" (bars: 95 % band)", at, band)
	return most
}

// addCount adds a bar for the number in one bin, with the number over it. The first series' bars are filled, the
// others' are not.
func addCount(p *plot.Plot, l look, from, to, n float64, k, of int) {
	const gap = 0.01
	wide := (to - from - 2*gap) / float64(of)
	left, top := from+gap+wide*float64(k), math.Log10(n)+0.05 // so that one case is seen
	bar := must(plotter.NewPolygon(plotter.XYs{{X: left, Y: 0}, {X: left, Y: top}, {X: left + wide, Y: top},
		{X: left + wide, Y: 0}}))
	bar.LineStyle = draw.LineStyle{Color: l.color, Width: vg.Points(1)}
	if k == 0 {
		bar.Color = l.color
	}
	label := must(plotter.NewLabels(plotter.XYLabels{XYs: plotter.XYs{{X: left + wide/2, Y: top + 0.08}},
		Labels: []string{short(n)}}))
	label.TextStyle[0].XAlign, label.TextStyle[0].Font.Size = text.XCenter, vg.Points(8)
	if of > 1 {
		label.TextStyle[0].Font.Size = vg.Points(7)
	}
	p.Add(bar, label)
}

// short writes a number for a narrow bar; the table has all of it.
func short(n float64) string {
	if n >= 10000 {
		return strconv.Itoa(int(math.Round(n/1000))) + "k"
	}
	return strconv.Itoa(int(n))
}

// powers are ticks of a logarithmic scale up to the power of ten beyond most.
func powers(most float64) plot.ConstantTicks {
	var t plot.ConstantTicks
	for k, v := 0, 1; float64(v) <= most; k, v = k+1, 10*v {
		t = append(t, plot.Tick{Value: float64(k), Label: strconv.Itoa(v)})
	}
	return t
}

// stack draws two panels one below the other, the upper one three times as high, with their axes in line.
func stack(c draw.Canvas, above, below *plot.Plot) {
	height := c.Max.Y - c.Min.Y
	upper := draw.Crop(c, vg.Points(4), -vg.Points(14), 0.29*height, -vg.Points(6))
	lower := draw.Crop(c, vg.Points(4), -vg.Points(14), vg.Points(4), -0.72*height)
	tiles := draw.Tiles{Rows: 1, Cols: 1}
	u, l := plot.Align([][]*plot.Plot{{above}}, tiles, upper)[0][0], plot.Align([][]*plot.Plot{{below}}, tiles,
		lower)[0][0]
	shift := above.DataCanvas(u).Min.X - below.DataCanvas(l).Min.X // the wider labels decide
	if shift > 0 {
		l = draw.Crop(l, shift, 0, 0, 0)
	} else {
		u = draw.Crop(u, -shift, 0, 0, 0)
	}
	above.Draw(u)
	below.Draw(l)
}
