package main

import (
	"testing"
)

func TestLook(t *testing.T) {
	for _, c := range []struct {
		name  string
		width int64
	}{{"phone", 390}, {"desk", 1280}} {
		t.Run(c.name, func(t *testing.T) {
			b := open(t, file(t), c.width, "")
			t.Log("ready after ms:", get[string](b, "return document.documentElement.dataset.ready"))
			b.ask("26:32D687E=46143")
			t.Log(get[string](b, "return $('state').textContent"))
			b.shoot(c.name + "-one.png")
			b.ask("26:2F20023\n26:2F20057=00043\n26:2F201A9")
			t.Log(get[string](b, "return $('state').textContent"))
			b.shoot(c.name + "-several.png")
			b.audit()
			b.silent()
		})
	}
}
