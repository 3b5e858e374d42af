package line_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// sampled writes the published 26-bit example as samples of both wires, one every 10 µs: levels of 1 and 0, times
// swing, as an open-collector line has them (down at once, up by the time constant of cable and pull-up), with noise.
func sampled(row func(n int, d0, d1 float64) string, constant, noise float64) string {
	rng := rand.New(rand.NewPCG(seed, 5))
	var b strings.Builder
	v := [2]float64{1, 1}
	for n := range 12000 {
		for w := range v {
			low := false
			if t := n*10 - 60000; t >= 0 && t/2000 < len(card) {
				low = t%2000 < 60 && int(card[t/2000]-'0') == w
			}
			switch {
			case low:
				v[w] = 0.02
			case constant == 0:
				v[w] = 1
			default:
				v[w] += (1 - v[w]) * (1 - math.Exp(-10/constant))
			}
		}
		b.WriteString(row(n, v[0]+noise*rng.NormFloat64(), v[1]+noise*rng.NormFloat64()))
	}
	return b.String()
}

func TestCSVSamplesAndVolts(t *testing.T) {
	t.Parallel()
	level := func(v float64) int { return int(v + 0.5) }
	bare := func(_ int, a, b float64) string { return fmt.Sprintf("%d,%d\n", level(a), level(b)) }
	volts := func(swing float64, format string) func(int, float64, float64) string {
		return func(n int, a, b float64) string { return fmt.Sprintf(format, float64(n)*1e-5, swing*a, swing*b) }
	}
	for name, c := range map[string]struct {
		text      string
		o         line.CSVOptions
		threshold float64
	}{
		"rate by option":        {text: "D0,D1\n" + sampled(bare, 0, 0), o: line.CSVOptions{Rate: 1e5}},
		"no head at all":        {text: sampled(bare, 0, 0), o: line.CSVOptions{Rate: 1e5}},
		"rate in a remark":      {text: "# Sample rate: 100 kHz\nD0,D1\n" + sampled(bare, 0, 0)},
		"rate in the preamble":  {text: "Samplerate,100000\n\nD0,D1\n" + sampled(bare, 0, 0)},
		"interval":              {text: "Sample Interval (us),10\nD0,D1\n" + sampled(bare, 0, 0)},
		"interval, other order": {text: "; sampling period = 1e-05 s\nD0,D1\n" + sampled(bare, 0, 0)},
		"a counter": {text: "Sample rate: 0.1 MHz\nSample,D0,D1\n" + sampled(func(n int, a, b float64) string {
			return fmt.Sprintf("%d,%d,%d\n", n, level(a), level(b))
		}, 0, 0)},
		"a rate, and times as well": {text: "Sample rate: 5 MHz\nTime [ms],D0,D1\n" +
			sampled(func(n int, a, b float64) string {
				return fmt.Sprintf("%g,%d,%d\n", float64(n)/100, level(a), level(b))
			}, 0, 0)},
		"volts": {text: "Time (s),D0 (V),D1 (V)\n" + sampled(volts(5, "%.6f,%.3f,%.3f\n"), 5, 0.02),
			threshold: 2.5},
		"volts, slow edges": {text: "Time (s),CH1 (V),CH2 (V)\n" + sampled(volts(5, "%.6f,%.3f,%.3f\n"), 25, 0.02),
			threshold: 2.5},
		"volts, noisy": {text: "Time (s),CH1,CH2\n" + sampled(volts(3.3, "%.6f,%.3f,%.3f\n"), 5, 0.08),
			threshold: 1.65},
		"twelve volts": {text: "Time (s),CH1,CH2\n" + sampled(volts(12, "%.6f,%.3e,%.3e\n"), 5, 0.02), threshold: 6},
		"millivolts": {text: "Time (s),CH1 (mV),CH2 (mV)\n" + sampled(volts(5000, "%.6f,%.0f,%.0f\n"), 5, 0.02),
			threshold: 2.5},
		"a probe of ten": {text: "Time (s),CH1 (V),CH2 (V)\n" + sampled(volts(0.5, "%.6f,%.4f,%.4f\n"), 5, 0.02),
			threshold: 0.25},
		"cells with units": {text: "Time,CH1,CH2\n" + sampled(volts(5, "%.6f s,%.3f V,%.3f V\n"), 5, 0.02), threshold: 2.5},
		"decimal comma": {text: "Time (s);CH1 (V);CH2 (V)\n" + strings.ReplaceAll(sampled(volts(5, "%.6f;%.3f;%.3f\n"),
			5, 0.02), ".", ","), threshold: 2.5},
		"inverted": {text: "Time (s),CH1 (V),CH2 (V)\n" +
			sampled(func(n int, a, b float64) string { return volts(5, "%.6f,%.3f,%.3f\n")(n, 1-a, 1-b) }, 5, 0.02),
			threshold: 2.5},
		"volts without time": {text: "Rate: 100 kS/s\nCH1 (V),CH2 (V)\n" +
			sampled(func(n int, a, b float64) string { return fmt.Sprintf("%.3f,%.3f\n", 5*a, 5*b) }, 5, 0.02), threshold: 2.5},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			src, err := line.NewCSV(strings.NewReader(c.text), c.o)
			require.NoError(t, err)
			_, err = src.Choose(line.Signals{})
			require.NoError(t, err)
			reads, health, err := readAll(src)
			require.NoError(t, err)
			require.Equal(t, []string{card}, bitsOf(reads), "%v", health.Suggestions())
			require.Equal(t, 60*ms, reads[0].At)
			require.NotEqual(t, line.Suspect, reads[0].Verdict(), "%v", reads[0].Warnings(nil))
			require.Equal(t, name == "inverted", health.Inverted)
			volts, ok := src.Thresholds()
			require.Equal(t, c.threshold > 0, ok)
			require.InDelta(t, c.threshold, volts[0], c.threshold*0.1)
			require.InDelta(t, c.threshold, volts[1], c.threshold*0.1)
		})
	}
	// Times whose unit is in the cell may have different ones.
	text := "time,D0,D1\n0 s,1,1\n60 ms,0,1\n60.05 ms,1,1\n62000us,1,0\n62050 µs,1,1\n0.12 s,1,1\n"
	reads, _, err := readCSV(strings.NewReader(text), line.CSVOptions{}, line.Signals{})
	require.NoError(t, err)
	require.Equal(t, []string{"01"}, bitsOf(reads))
	_, err = line.NewCSV(strings.NewReader("Time [us],D0,D1\n0,1,1\n"), line.CSVOptions{Rate: 1e6})
	require.ErrorContains(t, err, "leave the rate out")
	for _, rate := range []float64{-1, 0.5, 1e13, math.NaN()} {
		_, err = line.NewCSV(strings.NewReader("D0,D1\n1,1\n"), line.CSVOptions{Rate: rate})
		require.ErrorIs(t, err, line.ErrTime)
	}
}
