package wiegand

import (
	"encoding/json"
	"errors"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"iter"
	"math"
	"math/big"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// odd holds values of every type that the API takes: zero, nil, at the ends, out of range, made by hand and foreign.
var odd = func() map[reflect.Type][]any {
	full := BitsFromWords([4]uint64{math.MaxUint64, math.MaxUint64, math.MaxUint64, math.MaxUint64}, MaxBits)
	read := MustParseBits("26:32D687E")
	strange := Spans{{}, {From: -1, To: 300, Step: -7}, {From: 5, To: 2}, {From: 1, To: 256, Step: math.MaxInt},
		{From: 3, To: 3}}
	mixed := MustCompile(specMixed)
	record, wide := MustCompile(spec26).Blank(), mixed.Blank()
	all := map[reflect.Type][]any{}
	for _, v := range []any{
		math.MinInt, -1, 0, 1, 2, 15, 16, 25, 26, 63, 64, 255, 256, 257, math.MaxInt,
		uint(0), uint(1), uint(7), uint64(0), uint64(1) << 20, uint64(math.MaxUint64), 'v', 'd', 'é',
		"", "1", "bits:", ":", "left:", "26:32D687E", "-1", "é", "{0 2}", "{0 99}", "{", FieldNumber,
		strings.Repeat("9", 200),
		[]byte(nil), []byte{}, []byte("1001"), []byte("{x}"), make([]byte, 64), []byte(strings.Repeat("\xff", 99)),
		[]uint64(nil), []uint64{0, 0}, []uint64{math.MaxUint64, 1}, make([]uint64, 99), [4]uint64{}, full.w,
		Bits{}, read, full, (*Bits)(nil), new(Bits), &read, &full,
		CheckSet(0), CheckSet(5), CheckSet(math.MaxUint64), new(CheckSet),
		Even, Digit, CheckKind(99), new(CheckKind), Binary, Signs5, Coding(200), new(Coding), MSBFirst, Order(77), new(Order),
		Span{}, Span{From: -1, To: 300, Step: -7}, Span{From: math.MaxInt, To: math.MinInt, Step: math.MinInt},
		Spans(nil), Spans{}, strange, new(Spans),
		Spec{}, spec26, specFASCN, specMixed, Spec{Length: -1}, Spec{Length: math.MaxInt},
		Spec{Length: 8, Fields: make([]Field, 3)},
		Spec{Length: 8, Checks: make([]Check, 3)},
		Spec{Length: 26, Fields: []Field{{Name: "x", Bits: strange, Order: 9, Coding: 9}}},
		Spec{Length: 26, Fields: []Field{{Name: "x", Bits: spans("1-25"), Coding: 99}}},
		Spec{Length: 26, Fields: []Field{{Name: "x", Bits: spans("1-25"), Constant: strings.Repeat("9", 99)}}},
		Spec{Length: 26, Fields: spec26.Fields, Checks: []Check{{Kind: 99}, {Kind: Odd, Bit: math.MaxInt, Repeat: 64,
			Step: math.MaxInt}}},
		Spec{Length: 26, Fields: spec26.Fields, Checks: []Check{{Kind: Odd, Bit: 1, Over: strange, Repeat: math.MinInt}}},
		Spec{Length: 26, Fields: spec26.Fields, Checks: []Check{{Kind: Fixed, Bits: spans("1"), Value: full}, {Kind: LRC}}},
		(*Layout)(nil), &Layout{}, MustCompile(spec26), MustCompile(specFASCN), mixed,
		(*Record)(nil), new(Record), &record, &wide, Record{}, record, wide, CheckInfo{},
		(*Error)(nil), &Error{}, &Error{Err: ErrSyntax},
	} {
		all[reflect.TypeOf(v)] = append(all[reflect.TypeOf(v)], v)
	}
	return all
}()

// functions are the package's own functions but for those named Must. The test below finds one that is missing.
var functions = map[string]any{
	"BitsFromLeft": BitsFromLeft, "BitsFromRight": BitsFromRight, "BitsFromUint": BitsFromUint,
	"BitsFromWords": BitsFromWords,
	"Compile":       Compile, "ParseBits": ParseBits, "ParseSpans": ParseSpans,
}

// Every function and method answers everything that it can be given, odd values above all, with a result or with one of
// the declared errors, and never panics. Nothing is listed but the functions: methods are found.
func TestNothingPanics(t *testing.T) {
	for name, f := range functions {
		callWithAll(t, name, reflect.ValueOf(f))
	}
	calls := 0
	for typ, receivers := range odd {
		for i := range typ.NumMethod() {
			m := typ.Method(i)
			// through fmt, below; a copy of the mutation tester, at work or not
			if m.Name == "Format" || strings.Contains(m.Name, "__") {
				continue
			}
			for _, receiver := range receivers {
				v := reflect.ValueOf(receiver)
				if v.Kind() == reflect.Pointer && v.IsNil() {
					if _, ofValue := typ.Elem().MethodByName(m.Name); ofValue || m.Name == "UnmarshalText" {
						continue // Go itself has nothing to call it on
					}
				}
				if v.Kind() == reflect.Pointer && !v.IsNil() { // so that no call sees what another one left
					c := reflect.New(typ.Elem())
					c.Elem().Set(v.Elem())
					v = c
				}
				calls += callWithAll(t, fmt.Sprintf("(%s).%s of %#v", typ, m.Name, receiver), v.Method(i))
			}
		}
		for _, v := range receivers {
			for _, verb := range []string{"%v", "%+v", "%#v", "%s", "%q", "%x", "%X", "%d", "%b", "%o", "%t", "%-300.3d",
				"%08x"} {
				assert.NotContains(t, fmt.Sprintf(verb, v), "PANIC", "%T %s", v, verb)
			}
			_, err := json.Marshal(v)
			var own *Error
			assert.True(t, err == nil || errors.As(err, &own), "%#v: %v", v, err)
		}
	}
	assert.Greater(t, calls, 1000)
}

// callWithAll calls a function with every combination of odd arguments, and returns how many there were.
func callWithAll(t *testing.T, name string, f reflect.Value) int {
	t.Helper()
	var args []reflect.Value
	var next func() int
	next = func() (calls int) {
		if len(args) < f.Type().NumIn() {
			typ := f.Type().In(len(args))
			require.NotEmpty(t, odd[typ], "%s: no values of %s", name, typ)
			for _, v := range odd[typ] {
				args = append(args, reflect.ValueOf(v))
				calls += next()
				args = args[:len(args)-1]
			}
			return calls
		}
		defer func() {
			if p := recover(); p != nil {
				t.Errorf("%s with %v panics: %v", name, args, p)
			}
		}()
		call := f.Call
		if f.Type().IsVariadic() {
			call = f.CallSlice
		}
		for _, result := range call(args) {
			answered(t, name, result.Interface())
		}
		return 1
	}
	return next()
}

// answered checks a result: errors are declared ones and name no option, sequences end.
func answered(t *testing.T, name string, result any) {
	t.Helper()
	switch r := result.(type) {
	case iter.Seq[int]:
		n := 0
		for range r {
			n++
		}
		assert.LessOrEqual(t, n, 5*MaxBits, name)
	case error:
		var own *Error
		if !errors.As(r, &own) {
			assert.Contains(t, []error{ErrSyntax, ErrRange, ErrLength, ErrLayout}, r, name) // what Unwrap returns
			return
		}
		kinds := 0
		for _, kind := range []error{ErrSyntax, ErrRange, ErrLength, ErrLayout} {
			if errors.Is(r, kind) {
				kinds++
			}
		}
		assert.Equal(t, 1, kinds, "%s: %v", name, r)
		assert.NotContains(t, r.Error(), "--", "%s: an error names no option", name)
		assert.NotContains(t, r.Error(), "\n", name)
	}
}

// The table of functions above is whole.
func TestFunctionsAreAllThere(t *testing.T) {
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		file, err := parser.ParseFile(token.NewFileSet(), name, text, 0)
		require.NoError(t, err)
		for _, d := range file.Decls {
			if f, ok := d.(*ast.FuncDecl); ok && f.Recv == nil && f.Name.IsExported() && !strings.HasPrefix(f.Name.Name,
				"Must") {
				assert.Contains(t, functions, f.Name.Name)
			}
		}
	}
}

// The zero and the nil layout, and records of neither: the answers that the documentation promises.
func TestZeroAnswers(t *testing.T) {
	for _, l := range []*Layout{nil, {}} {
		assert.Zero(t, l.Len())
		assert.Zero(t, l.Spec())
		assert.Empty(t, l.Checks())
		assert.Equal(t, -1, l.Field(FieldFacility))
		assert.Equal(t, -1, l.Field(FieldNumber))
		assert.Zero(t, l.Touching(0))
		assert.True(t, l.Holds(Bits{}))
		assert.False(t, l.Holds(MustParseBits("1")))
		r, err := l.Decode(Bits{})
		assert.NoError(t, err)
		assert.Zero(t, r.Bits())
		_, err = l.Decode(MustParseBits("26:0"))
		assert.EqualError(t, err, `decode "26:0000000": 26 bits where the layout has 0`)
		failed, err := l.Uint64s(nil, new(MustParseBits("26:0")))
		assert.ErrorIs(t, err, ErrLength)
		assert.Zero(t, failed)
	}
	l := MustCompile(spec26)
	assert.ErrorIs(t, l.DecodeInto(nil, new(Bits)), ErrLength)
	assert.ErrorIs(t, l.DecodeInto(new(Record), nil), ErrLength)
	_, err := l.Uint64s(make([]uint64, 3), new(MustParseBits("26:0")))
	assert.EqualError(t, err, "decode: 3 places for 2 fields")
	assert.True(t, (*Record)(nil).OK())
	assert.Nil(t, (*Record)(nil).Layout())
}

// Specs are plain data: what is compiled from JSON is what was compiled before. Sets of checks, checks, names and bits
// too.
func TestJSON(t *testing.T) {
	for _, c := range testSpecs {
		text, err := json.Marshal(c.spec)
		require.NoError(t, err)
		var back Spec
		require.NoError(t, json.Unmarshal(text, &back), string(text))
		a, b := MustCompile(c.spec), MustCompile(back)
		assert.Equal(t, a, b, string(text))
		text, err = json.Marshal(a.Checks())
		require.NoError(t, err)
		var checks []CheckInfo
		require.NoError(t, json.Unmarshal(text, &checks))
		assert.Equal(t, a.Checks(), checks)
	}
	text, err := json.Marshal(spec26)
	require.NoError(t, err)
	assert.JSONEq(t, `{"length":26,"fields":[{"name":"facility","bits":"2-9"},{"name":"number","bits":"10-25"}],
		"checks":[{"kind":"even","bit":1,"over":"2-13"},{"kind":"odd","bit":26,"over":"14-25"}]}`, string(text))
	for _, s := range []CheckSet{0, 5, 1 << 63, math.MaxUint64} {
		text, err := json.Marshal(map[string]CheckSet{"failed": s})
		require.NoError(t, err)
		var back map[string]CheckSet
		require.NoError(t, json.Unmarshal(text, &back))
		assert.Equal(t, s, back["failed"], string(text))
	}
	var s CheckSet
	assert.EqualError(t, s.UnmarshalText([]byte("{64}")), `checks "{64}": 64; indices are 0 to 63`)
	for _, bad := range []string{"", "{", "}", "0", "{0,1}", "{-1}", "{x}"} {
		assert.ErrorIs(t, s.UnmarshalText([]byte(bad)), ErrSyntax, bad)
	}
	_, err = json.Marshal(Spec{Fields: []Field{{Order: 9}}})
	assert.ErrorIs(t, err, ErrRange)
	assert.ErrorContains(t, err, `write "Order(9)": is none of msb, lsb`)
}

// The verbs of fmt, against those of math/big and of texts.
func TestFormat(t *testing.T) {
	for _, text := range []string{"", "0", "1", "26:32D687E", "24:00B43F", "64:FFFFFFFFFFFFFFFF", "65:0", "256:" +
		strings.Repeat("F", 64)} {
		b := MustParseBits(text)
		s := b.String()
		v, _ := new(big.Int).SetString("0"+s, 2)
		digits := (len(s) + 3) / 4
		for verb, want := range map[string]string{
			"%v": s, "%s": s, "%b": s, "%q": `"` + s + `"`, "%#b": "0b" + s, "%d": v.String(),
			"%300d": fmt.Sprintf("%300d", v), "%-300s|": fmt.Sprintf("%-300s|", s), "%.2s": s, "%#v": `wiegand.MustParseBits("` +
				b.Hex() + `")`,
			"%o": "%!o(wiegand.Bits=" + s + ")",
		} {
			assert.Equal(t, want, fmt.Sprintf(verb, b), verb)
		}
		if digits > 0 {
			assert.Equal(t, fmt.Sprintf("%0*x", digits, v), fmt.Sprintf("%x", b))
			assert.Equal(t, fmt.Sprintf("%0*X", digits, v), fmt.Sprintf("%X", b))
			assert.Equal(t, fmt.Sprintf("0x%0*x", digits, v), fmt.Sprintf("%#x", b))
		}
	}
	assert.Equal(t, "115792089237316195423570985008687907853269984665640564039457584007913129639935",
		fmt.Sprintf("%d", MustParseBits("256:"+strings.Repeat("F", 64))), "2^256-1, by Python's integers")
}
