package formats

import "testing"

// BenchmarkParseSighting reads cards as people write them down.
func BenchmarkParseSighting(b *testing.B) {
	for _, text := range []string{"26:32D687E", "11001011010110100001111110", "150,46143", "04:A2:3B:5C:11:22:80"} {
		b.Run(text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ParseSighting(text); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkForms writes the 26-bit card in a form and reads it back.
func BenchmarkForms(b *testing.B) {
	f := Builtin().Find("26-8-16")[0]
	form, _ := FormByName("pair")
	var dst []byte
	b.ReportAllocs()
	for b.Loop() {
		c, err := form.Parse(f, "150,46143")
		if err != nil {
			b.Fatal(err)
		}
		if dst, err = form.Append(dst[:0], &c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBuiltin(b *testing.B) {
	for b.Loop() {
		Builtin()
	}
}
