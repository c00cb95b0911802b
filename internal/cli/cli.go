// Package cli holds the commands. It reads files, calls the core and prints; it
// concludes nothing.
//
// Standard output holds the result and nothing else; with --json it is JSON, errors
// too. Hints and progress go to standard error. The exit codes are part of the
// contract in docs/cli.md.
package cli

import (
	"bufio"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"time"

	"github.com/alecthomas/kong"

	"buttonup/pack"
)

// The exit codes.
const (
	ExitDone      = 0   // nothing stops the job
	ExitFailed    = 1   // could not do it
	ExitUsage     = 2   // wrong use of the command line
	ExitStops     = 3   // done, and at least one stop stands without a deviation
	ExitMistakes  = 4   // the pack has mistakes
	ExitCancelled = 130 // interrupted
)

// commands is the command line.
type commands struct {
	Pack struct {
		Check     packCheck     `cmd:"" help:"Check a pack and report all mistakes together."`
		FromTable packFromTable `cmd:"" name:"from-table" help:"Make a pack of a table of limits or torques."`
	} `cmd:"" help:"Work with engine packs."`
	Assess   assessCommand   `cmd:"" help:"Say what a job shows: verdicts, what is next, what must not be closed."`
	Readings readingsCommand `cmd:"" help:"Take readings from a table (CSV) into a journal."`
	Calc     calcCommand     `cmd:"" help:"Compute one thing: buttonup calc NAME key=value …"`
	Version  versionCommand  `cmd:"" help:"Print the version."`
}

// app is what the commands share.
type app struct {
	stdin          io.Reader
	stdout, stderr io.Writer
	out            *bufio.Writer
	json           bool
	now            func() time.Time
}

// failure is an error with what to do about it and the exit code it ends with.
type failure struct {
	Says     string
	Argument string
	Hint     string
	Mistakes pack.Mistakes
	Code     int
}

func (f *failure) Error() string { return f.Says }

func failed(hint, format string, values ...any) *failure {
	return &failure{Says: fmt.Sprintf(format, values...), Hint: hint, Code: ExitFailed}
}

func misused(argument, hint, format string, values ...any) *failure {
	return &failure{Says: fmt.Sprintf(format, values...), Argument: argument, Hint: hint, Code: ExitUsage}
}

// exit ends a command with a code and no error.
type exit int

func (e exit) Error() string { return fmt.Sprintf("exit %d", int(e)) }

// helped is panicked with when the command line only asked for help.
type helped struct{ code int }

// Main runs a command line and returns the exit code.
func Main(args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	a := &app{stdin: stdin, stdout: stdout, stderr: stderr, out: bufio.NewWriter(stdout), json: wantsJSON(args), now: time.Now}
	done := make(chan int, 1)
	go func() { done <- a.run(args) }()
	interrupt := make(chan os.Signal, 1)
	signal.Notify(interrupt, os.Interrupt)
	defer signal.Stop(interrupt)
	select {
	case code := <-done:
		return code
	case <-interrupt:
		fmt.Fprintln(stderr, "\nbuttonup: cancelled; nothing was changed")
		return ExitCancelled
	}
}

func wantsJSON(args []string) bool {
	for _, s := range args {
		if s == "--" {
			break
		}
		if s == "--json" || s == "--json=true" {
			return true
		}
	}
	return false
}

func (a *app) run(args []string) (code int) {
	defer func() {
		switch p := recover().(type) {
		case nil:
		case helped:
			code = p.code
		default:
			code = a.fault(p)
		}
		if err := a.out.Flush(); err != nil && code == ExitDone {
			fmt.Fprintf(a.stderr, "buttonup: cannot write the result: %v\n", err)
			code = ExitFailed
		}
	}()
	if len(args) == 0 {
		args = []string{"--help"}
	}
	var c commands
	parser, err := kong.New(&c, kong.Name("buttonup"),
		kong.Description("A second pair of eyes for the rebuild of an engine: engine pack + job journal = assessment. It records and computes; it never certifies."),
		kong.Writers(a.out, a.stderr), kong.Exit(func(code int) { panic(helped{code}) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: false}), kong.Bind(a))
	if err != nil {
		panic(err)
	}
	context, err := parser.Parse(args)
	if err != nil {
		return a.fail(usageError(err, parser))
	}
	err = context.Run(a)
	var e exit
	switch {
	case err == nil:
		return ExitDone
	case errors.As(err, &e):
		return int(e)
	}
	return a.fail(err)
}

// usageError turns the parser's complaint into ours.
func usageError(err error, parser *kong.Kong) error {
	says := err.Error()
	f := &failure{Says: says, Hint: "buttonup --help lists the commands", Code: ExitUsage}
	var pe *kong.ParseError
	if errors.As(err, &pe) && pe.Context != nil && pe.Context.Selected() != nil {
		f.Hint = "buttonup " + strings.TrimPrefix(pe.Context.Selected().FullPath(), "buttonup ") + " --help tells how to use it"
	}
	for _, w := range strings.FieldsFunc(says, func(r rune) bool { return r == ' ' || r == '"' || r == ',' || r == ':' }) {
		if strings.HasPrefix(w, "--") {
			f.Argument = strings.TrimRight(w, `"',.`)
			break
		}
	}
	return f
}

// fail prints an error and returns its exit code.
func (a *app) fail(err error) int {
	var f *failure
	if !errors.As(err, &f) {
		f = &failure{Says: err.Error(), Code: ExitFailed}
	}
	if a.json {
		a.printJSON(map[string]any{"error": errorReport(f)})
		return f.Code
	}
	if len(f.Mistakes) > 0 {
		f.Mistakes.Write(a.out)
		fmt.Fprintln(a.out)
		a.out.Flush()
	}
	fmt.Fprintf(a.stderr, "buttonup: %s\n", f.Says)
	if f.Hint != "" {
		fmt.Fprintf(a.stderr, "hint: %s\n", f.Hint)
	}
	return f.Code
}

type errorJSON struct {
	Says     string          `json:"says"`
	Argument string          `json:"argument"`
	Hint     string          `json:"hint"`
	Mistakes []mistakeReport `json:"mistakes,omitempty"`
}

func errorReport(f *failure) errorJSON {
	return errorJSON{f.Says, f.Argument, f.Hint, mistakeReports(f.Mistakes)}
}

// fault reports a bug of ours: what a person entered is safe, because nothing is
// written before it is whole.
func (a *app) fault(p any) int {
	says := fmt.Sprintf("this is a fault in Buttonup, not in your files: %v", p)
	if a.json {
		a.printJSON(map[string]any{"error": errorJSON{Says: says, Hint: "report it with the command that you gave"}})
		return ExitFailed
	}
	fmt.Fprintf(a.stderr, "buttonup: %s\nhint: report it with the command that you gave; your files are unchanged\n", says)
	return ExitFailed
}

// printJSON writes a value as indented JSON.
func (a *app) printJSON(v any) {
	e := json.NewEncoder(a.out)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		panic(err)
	}
}

// watch tells a person at a terminal what takes long; the returned function ends it.
func (a *app) watch(what string) func() {
	f, ok := a.stderr.(*os.File)
	if !ok || a.json {
		return func() {}
	}
	if info, err := f.Stat(); err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return func() {}
	}
	begun := time.Now()
	stop := make(chan struct{})
	go func() {
		ticker := time.NewTicker(time.Second)
		defer ticker.Stop()
		for shown := false; ; {
			select {
			case <-ticker.C:
				fmt.Fprintf(f, "\r%s … %.0f s", what, time.Since(begun).Seconds())
				shown = true
			case <-stop:
				if shown {
					fmt.Fprint(f, "\r\033[K")
				}
				return
			}
		}
	}()
	return func() { close(stop) }
}

// sortedKeys returns the keys of a map in order.
func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}
