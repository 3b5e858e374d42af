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
func cards(title string, from float64) func(*table, draw.Canvas) error {
	return func(t *table, c draw.Canvas) error {
		p := panel(title, "number of cards", "right")
		names, rows := t.series()
		var ticks plot.ConstantTicks
		for i, name := range names {
			if err := addCards(t, p, looks[i], name, rows[name], i); err != nil {
				return err
			}
			if i > 0 {
				continue
			}
			for _, r := range rows[name] {
				n, err := t.number(r, "cards")
				if err != nil {
					return err
				}
				ticks = append(ticks, plot.Tick{Value: math.Log(n), Label: strconv.Itoa(int(n))})
			}
		}
		p.X.Tick.Marker, p.Y.Tick.Marker = ticks, percents(from, (1-from)/5)
		p.X.Min, p.X.Max = ticks[0].Value-0.08, ticks[len(ticks)-1].Value+0.08
		p.Y.Min, p.Y.Max = from, 1.004
		p.Legend.XOffs, p.Legend.YOffs = -vg.Points(10), vg.Points(8)
		p.Draw(draw.Crop(c, vg.Points(4), -vg.Points(14), vg.Points(4), -vg.Points(6)))
		return nil
	}
}

// addCards adds one series: what was right, the most that can be, and where that is measured the share of samples that
// leave nothing open.
func addCards(t *table, p *plot.Plot, l look, name string, rows [][]string, k int) error {
	var right, limit, settled plotter.XYs
	var band plotter.YErrors
	for _, r := range rows {
		v, err := t.numbers(r, "cards", "right", "low", "high", "limit")
		if err != nil {
			return err
		}
		x := math.Log(v[0])
		right = append(right, plotter.XY{X: x + 2*l.shift, Y: v[1]})
		band = append(band, struct{ Low, High float64 }{v[1] - v[2], v[3] - v[1]})
		limit = append(limit, plotter.XY{X: x, Y: v[4]})
		if t.has("settled") {
			s, err := t.number(r, "settled")
			if err != nil {
				return err
			}
			settled = append(settled, plotter.XY{X: x, Y: s})
		}
	}
	if err := curve(p, l, name+" (bars: 95 % band)", right, band); err != nil {
		return err
	}
	dotted := draw.LineStyle{Color: color.Black, Width: vg.Points(1.2), Dashes: []vg.Length{vg.Points(1.5),
		vg.Points(2.5)}}
	if k > 0 {
		dotted.Dashes = []vg.Length{vg.Points(1.5), vg.Points(2.5), vg.Points(5), vg.Points(2.5)}
	}
	if err := rule(p, name+": the most that can be", limit, dotted); err != nil || settled == nil {
		return err
	}
	return curve(p, look{color: color.Gray{Y: 0x55}, shape: draw.CrossGlyph{}, dashes: []vg.Length{vg.Points(8),
		vg.Points(3)}}, "samples that leave nothing open", settled, nil)
}
