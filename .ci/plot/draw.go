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

// look is how a series is drawn: marks and dashes say what colours say, for print in black and white and for eyes that
// don't tell these colours apart (two of those of M. Okabe and K. Ito, "Color Universal Design", 2008).
type look struct {
	color  color.Color
	shape  draw.GlyphDrawer
	dashes []vg.Length
	shift  float64 // sideways, so that the bands of two series don't cover each other
}

var looks = []look{
	{color.RGBA{R: 0x00, G: 0x72, B: 0xB2, A: 0xFF}, draw.CircleGlyph{}, nil, -0.004},
	{color.RGBA{R: 0xD5, G: 0x5E, B: 0x00, A: 0xFF}, draw.TriangleGlyph{}, points(6, 3), 0.004},
}

func (l *look) line(width vg.Length) draw.LineStyle {
	return draw.LineStyle{Color: l.color, Width: width, Dashes: l.dashes}
}

func (l *look) glyph() draw.GlyphStyle {
	return draw.GlyphStyle{Color: l.color, Shape: l.shape, Radius: vg.Points(4)}
}

// panel returns an empty plot with room for its labels.
func panel(title, x, y string) *plot.Plot {
	p := plot.New()
	p.BackgroundColor = color.White
	p.Title.Text, p.X.Label.Text, p.Y.Label.Text = title, x, y
	p.Title.TextStyle.Font.Size, p.Title.Padding = vg.Points(14), vg.Points(8)
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Label.TextStyle.Font.Size, a.Tick.Label.Font.Size, a.Label.Padding = vg.Points(11), vg.Points(10), vg.Points(4)
		a.Padding = 0
	}
	p.Legend.TextStyle.Font.Size, p.Legend.Padding, p.Legend.YPosition = vg.Points(10), vg.Points(3), draw.PosCenter
	p.Legend.ThumbnailWidth = vg.Points(28)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = color.Gray{Y: 0xDD}, color.Gray{Y: 0xDD}
	p.Add(grid)
	return p
}

// percents are ticks from low to 1, as percentages.
func percents(low, step float64) plot.ConstantTicks {
	var t plot.ConstantTicks
	for i := range int(math.Round((1-low)/step)) + 1 {
		v := low + float64(i)*step
		t = append(t, plot.Tick{Value: v, Label: strconv.Itoa(int(math.Round(100*v))) + " %"})
	}
	return t
}

// curve adds a series as marks on a line, with a band at each mark where there is one.
func curve(p *plot.Plot, l look, name string, at plotter.XYs, band plotter.YErrors) {
	line, marks, err := plotter.NewLinePoints(at)
	must(0, err)
	line.LineStyle, marks.GlyphStyle = l.line(vg.Points(1.2)), l.glyph()
	if band != nil {
		bars := must(plotter.NewYErrorBars(struct {
			plotter.XYs
			plotter.YErrors
		}{at, band}))
		bars.LineStyle = draw.LineStyle{Color: l.color, Width: vg.Points(1)}
		p.Add(bars)
	}
	p.Add(line, marks)
	p.Legend.Add(name, line, marks)
}

// rule adds a straight line that is there to compare with.
func rule(p *plot.Plot, name string, at plotter.XYs, style draw.LineStyle) {
	line := must(plotter.NewLine(at))
	line.LineStyle = style
	p.Add(line)
	p.Legend.Add(name, line)
}
