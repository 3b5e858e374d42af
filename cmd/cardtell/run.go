package main

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"syscall"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/typed"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// Exit codes, as scripts rely on them.
const (
	exitDone  = 0 // done
	exitNo    = 1 // the answer is no: nothing fits, something was found, rejects were written
	exitUsage = 2 // the command or its input is wrong
	exitFile  = 3 // a file could not be read or written
)

// errNo ends a command whose answer is no. The answer is on standard output by then, so nothing more is said.
var errNo = errors.New("the answer is no")

// app is what every command shares: where to read and write, and the flags that all of them take.
type app struct {
	in    io.Reader
	stdin *list.Replay  // in, where a list is read from it
	out   *bufio.Writer // data, and nothing else; flushed when the command ends
	err   io.Writer     // remarks and errors

	terminal *os.File // standard output where it is a file, which may be a terminal; else nil

	json    bool     // --json
	quiet   bool     // --quiet
	noColor bool     // --no-color
	site    string   // --site FILE
	formats []string // --formats FILE, repeated

	cat    formats.Catalogue // once it was put together
	doors  []site.Door       // of the site file, once that was read
	inputs []fs.FileInfo     // files that were read, which no output may take the place of

	tables tables // what is known without any file
	width  int    // columns of text that goes to no terminal
}

// run is the whole program but for the operating system: it returns the exit code.
func run(args []string, in io.Reader, out, errw io.Writer) int {
	a := &app{tables: newTables(), width: say.Width}
	return a.run(args, in, out, errw)
}

func (a *app) run(args []string, in io.Reader, out, errw io.Writer) int {
	a.in, a.out, a.err = in, bufio.NewWriterSize(out, 1<<16), errw
	a.terminal, _ = out.(*os.File)
	root := a.root()
	shellAsks(a, root, args)
	root.SetArgs(cardFirst(root, args))
	root.SetIn(in)
	root.SetOut(a.out)
	root.SetErr(errw)
	err := root.Execute()
	if flushErr := a.out.Flush(); err == nil || errors.Is(err, errNo) {
		if flushErr != nil {
			err = flushErr
		}
	}
	code := exitCode(err)
	if code != exitDone && code != exitNo {
		fmt.Fprintf(errw, "cardtell: %s\n", optionWords(err))
	}
	return code
}

// cardFirst asks identify about a card that comes in the place of a command, with the options that follow.
func cardFirst(root *cobra.Command, args []string) []string {
	if len(args) == 0 || !typed.IsCard(args) {
		return args
	}
	if c, _, err := root.Find(args[:1]); err == nil && c != root {
		return args
	}
	return append([]string{"identify"}, args...)
}

// exitCode says what an error means to a script. A reader that has gone away (head, a closed pager) is no failure.
func exitCode(err error) int {
	var path *fs.PathError
	switch {
	case err == nil, errors.Is(err, syscall.EPIPE):
		return exitDone
	case errors.Is(err, errNo):
		return exitNo
	case errors.As(err, &path), errors.Is(err, io.ErrShortWrite), errors.Is(err, os.ErrClosed):
		return exitFile
	}
	return exitUsage
}

// optionWords is an error on one line that names the option which would do, where a library says what is missing.
func optionWords(err error) string {
	text := say.Error(err)
	if errors.Is(err, formats.ErrMissing) {
		text = strings.Replace(text, "needs the facility as well; give it too",
			"needs the facility as well; give it with --facility", 1)
	}
	return text
}

// remark tells a person something on standard error, unless --quiet.
func (a *app) remark(format string, args ...any) {
	if !a.quiet {
		fmt.Fprintln(a.err, picture.Clean(fmt.Sprintf(format, args...)))
	}
}

// printJSON writes one document on standard output.
func (a *app) printJSON(v any) error {
	enc := json.NewEncoder(a.out)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// report writes what was found, as JSON or by print. The answer can be no.
func (a *app) report(found any, print func(), no bool) error {
	if !a.json {
		print()
	} else if err := a.printJSON(found); err != nil {
		return err
	}
	if no {
		return errNo
	}
	return nil
}

// root builds the command tree. Each command has a file of its own, named after it.
func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use:               "cardtell",
		PersistentPreRunE: a.checkEffects,

		SilenceErrors: true,
		SilenceUsage:  true,
	}
	flags := root.PersistentFlags()
	flags.BoolVar(&a.json, "json", false, "print JSON on standard output, and nothing else")
	flags.StringVar(&a.site, "site", "", "what is in use at this site (TOML `FILE`)")
	flags.StringArrayVar(&a.formats, "formats", nil, "more format definitions (TOML `FILE`; may repeat)")
	flags.BoolVar(&a.noColor, "no-color", false, "print without colour")
	flags.BoolVar(&a.quiet, "quiet", false, "print no remarks on standard error")
	root.AddCommand(
		a.identifyCommand(),
		a.convertCommand(),
		a.formatsCommand(),
		a.batchCommand(),
		a.checkCommand(),
		a.matchCommand(),
		a.siteCommand(),
		a.captureCommand(),
		a.drawCommand(),
		a.learnCommand(),
		a.relateCommand(),
	)
	serving(a, root)
	a.setHelp(root)
	return root
}
