package main

import (
	"image/color"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// cards draws the share of right answers against the number of cards, beside the most that can be right.
func cards(title string, from float64) func(*table, draw.Canvas) {
	return func(t *table, c draw.Canvas) {
		p := panel(title, "number of cards", "right")
		names, rows := t.series()
		var ticks plot.ConstantTicks
		for i, name := range names {
			addCards(t, p, looks[i], name, rows[name], i)
		}
		for _, r := range rows[names[0]] {
			n := t.number(r, "cards")
			ticks = append(ticks, plot.Tick{Value: math.Log(n), Label: strconv.Itoa(int(n))})
		}
		p.X.Tick.Marker, p.Y.Tick.Marker = ticks, percents(from, (1-from)/5)
		p.X.Min, p.X.Max = ticks[0].Value-0.08, ticks[len(ticks)-1].Value+0.08
		p.Y.Min, p.Y.Max = from, 1.004
		p.Legend.XOffs, p.Legend.YOffs = -vg.Points(10), vg.Points(8)
		p.Draw(draw.Crop(c, vg.Points(4), -vg.Points(14), vg.Points(4), -vg.Points(6)))
	}
}

// addCards adds one series: what was right, the most that can be, and where that is measured the share of samples that
// leave nothing open.
func addCards(t *table, p *plot.Plot, l look, name string, rows [][]string, k int) {
	var right, limit, settled plotter.XYs
	var band plotter.YErrors
	for _, r := range rows {
		x, y := math.Log(t.number(r, "cards")), t.number(r, "right")
		right = append(right, plotter.XY{X: x + 2*l.shift, Y: y})
		band = append(band, struct{ Low, High float64 }{y - t.number(r, "low"), t.number(r, "high") - y})
		limit = append(limit, plotter.XY{X: x, Y: t.number(r, "limit")})
		if t.has("settled") {
			settled = append(settled, plotter.XY{X: x, Y: t.number(r, "settled")})
		}
	}
	curve(p, l, name+" (bars: 95 % band)", right, band)
	dotted := draw.LineStyle{Color: color.Black, Width: vg.Points(1.2), Dashes: points(1.5, 2.5)}
	if k > 0 {
		dotted.Dashes = points(1.5, 2.5, 5, 2.5)
	}
	rule(p, name+": the most that can be", limit, dotted)
	if settled != nil {
		crosses := look{color: color.Gray{Y: 0x55}, shape: draw.CrossGlyph{}, dashes: points(8, 3)}
		curve(p, crosses, "samples that leave nothing open", settled, nil)
	}
}

// points are the lengths of dashes and of what is between them.
func points(all ...float64) (dashes []vg.Length) {
	for _, v := range all {
		dashes = append(dashes, vg.Points(v))
	}
	return dashes
}
