package main

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/require"
)

// built is the page, made once for all tests.
var built = sync.OnceValues(build)

// native is the program for this system, made once, which a test compares the page with.
var native = sync.OnceValues(func() (string, error) {
	name := filepath.Join(os.TempDir(), "cardtell-for-page-test")
	text, err := exec.Command("go", "build", "-o", name, program).CombinedOutput()
	if err != nil {
		err = &exec.Error{Name: string(text), Err: err}
	}
	return name, err
})

// tab is a page that is open in a browser, and what the browser says of it.
type tab struct {
	t     *testing.T
	ctx   context.Context
	width int64 // of the window

	mu       sync.Mutex
	requests []string // of the network, but for the page itself
	troubles []string // errors and refusals that the browser logs
}

// chromium finds the browser. The test is skipped where there is none: ask before anything is built for it.
func chromium(t *testing.T) string {
	t.Helper()
	if testing.Short() {
		t.Skip("builds the program for the browser, and drives one")
	}
	for _, name := range []string{"chromium", "chromium-browser"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	t.Skip("no chromium here: install Debian's package to run this")
	return ""
}

// browser starts Chromium without a window.
func browser(t *testing.T) context.Context {
	t.Helper()
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(chromium(t)), chromedp.NoSandbox,
		chromedp.UserDataDir(t.TempDir()))
	ctx, stop := chromedp.NewExecAllocator(t.Context(), options...)
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	return ctx
}

// file writes the page where a browser finds it, and returns its address.
func file(t *testing.T) string {
	t.Helper()
	chromium(t)
	text, err := built()
	require.NoError(t, err)
	name := filepath.Join(t.TempDir(), "cardtell.html")
	require.NoError(t, os.WriteFile(name, text, 0o600))
	return "file://" + name
}

// served serves the page over loopback.
func served(t *testing.T) string {
	t.Helper()
	chromium(t)
	text, err := built()
	require.NoError(t, err)
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.URL.Path != "/cardtell.html" {
			http.NotFound(w, r)
			return
		}
		w.Header().Set("Content-Type", "text/html; charset=windows-1252") // the mark in the page goes before it
		w.Write(text)                                                     //nolint:errcheck // the browser would say so
	}))
	t.Cleanup(server.Close)
	return server.URL + "/cardtell.html"
}

// open opens the page in a window so wide, and waits until the program has started. before runs in it ahead of its own
// scripts.
func open(t *testing.T, address string, width int64, before string) *tab {
	t.Helper()
	return visit(t, address, width, before, "html[data-ready]")
}

// view opens any page.
func view(t *testing.T, address string, width int64) *tab {
	t.Helper()
	return visit(t, address, width, "", "body")
}

func visit(t *testing.T, address string, width int64, before, ready string) *tab {
	t.Helper()
	b := &tab{t: t, ctx: browser(t), width: width}
	b.run()
	require.NoError(t, chromedp.Listen(b.ctx, func(event any) { b.note(address, event) }))
	for _, enable := range []cdp.Command[cdp.Empty, cdp.Empty]{log.Enable, runtime.Enable} {
		_, err := chromedp.Call(b.ctx, enable, cdp.Empty{})
		require.NoError(t, err)
	}
	_, err := chromedp.Call(b.ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	_, err = chromedp.Call(b.ctx, page.AddScriptToEvaluateOnNewDocument,
		page.AddScriptToEvaluateOnNewDocumentParams{Source: before})
	require.NoError(t, err)
	var options []chromedp.EmulateViewportOption
	if width < 600 {
		options = append(options, chromedp.EmulateMobile, chromedp.EmulateTouch)
	}
	b.run(chromedp.EmulateViewport(width, 800, options...), chromedp.Navigate(address),
		chromedp.WaitReady(chromedp.CSS(ready)))
	return b
}

// dark asks for the colours of the night, or of the day.
func (b *tab) dark(dark bool) {
	b.t.Helper()
	scheme := map[bool]string{true: "dark", false: "light"}[dark]
	_, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}},
	})
	require.NoError(b.t, err)
}

// note keeps what the browser tells of the network and of mistakes.
func (b *tab) note(address string, event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if url := e.Request.URL; url != address && !strings.HasPrefix(url, "blob:") {
			b.requests = append(b.requests, url)
		}
	case *log.EventEntryAdded:
		b.troubles = append(b.troubles, e.Entry.Text)
	case *runtime.EventExceptionThrown:
		b.troubles = append(b.troubles, e.ExceptionDetails.Text)
	}
}

func (b *tab) run(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	require.NoError(b.t, chromedp.Do(b.ctx, steps...))
}

// get runs JavaScript in the page and returns what it returns, which may be a promise.
func get[T any](b *tab, script string) T {
	b.t.Helper()
	value, err := chromedp.Run(b.ctx, chromedp.Evaluate[T]("(async () => {"+script+"})()", chromedp.EvalAwaitPromise))
	require.NoError(b.t, err)
	return value
}

// ask types a text into the box, as a user would paste it, and waits for the answer.
func (b *tab) ask(text string) {
	b.t.Helper()
	said, _ := json.Marshal(text)
	turn := get[string](b, `const before = $("answer").dataset.turn;
		$("what").value = `+string(said)+`;
		$("what").dispatchEvent(new Event("input"));
		for (let i = 0; i < 600 && $("answer").dataset.turn === before; i++) { await new Promise(f => setTimeout(f, 50)); }
		return $("answer").dataset.turn ?? "";`)
	require.NotEmpty(b.t, turn, "no answer to %q", text)
}

// silent fails where the network was asked for anything, or the browser refused or logged anything.
func (b *tab) silent() {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	require.Empty(b.t, b.requests, "requests of the network")
	require.Empty(b.t, b.troubles, "what the browser logs")
}

// audit looks for what keeps people out, by axe-core, a general-purpose library: testdata/axe.min.js.gz, from the npm
// package axe-core 4.14.1.
func (b *tab) audit() {
	b.t.Helper()
	packed, err := os.ReadFile("testdata/axe.min.js.gz")
	require.NoError(b.t, err)
	z, err := gzip.NewReader(bytes.NewReader(packed))
	require.NoError(b.t, err)
	axe, err := io.ReadAll(z)
	require.NoError(b.t, err)
	b.run(chromedp.Evaluate[chromedp.Void](string(axe)))
	found := get[[]string](b, `const result = await axe.run(document, {resultTypes: ["violations"], rules: {"target-size": {enabled: true}}});
		return result.violations.map(v => v.id + ": " + v.nodes.map(n => n.html.slice(0, 160) + " " + n.failureSummary).join(" | "));`)
	require.Empty(b.t, found, "what the audit finds")
}

// shoot keeps a picture of the whole page among the test's artifacts, for somebody to look at: go test -artifacts.
func (b *tab) shoot(name string) {
	b.t.Helper()
	picture, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	require.NoError(b.t, err)
	require.NoError(b.t, os.WriteFile(filepath.Join(b.t.ArtifactDir(), name), picture, 0o600))
}
