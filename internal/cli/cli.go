// Package cli holds the commands. It reads files, calls the core and prints; it
// concludes nothing.
//
// Standard output holds the result and nothing else; with --json it is JSON, errors
// too. Hints and progress go to standard error. The exit codes are part of the
// contract in docs/cli.md.
package cli

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"syscall"
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
		FromJob   packFromJob   `cmd:"" name:"from-job" help:"Make a pack of a job: its pack with all that the job added."`
	} `cmd:"" help:"Work with engine packs."`
	Serve         serveCommand     `cmd:"" help:"Show the record on pages at the bench and take readings from them."`
	Job           jobCommands      `cmd:"" help:"Start, list, import and export the jobs of the record."`
	Backup        backupCommand    `cmd:"" help:"Save the whole record into one file."`
	Restore       restoreCommand   `cmd:"" help:"Put a backup into an empty folder."`
	Assess        assessCommand    `cmd:"" help:"Say what a job shows: verdicts, what is next, what must not be closed."`
	Basket        basketCommand    `cmd:"" help:"Say what to buy, where, and why: cheapest, soonest or in the fewest orders, proven."`
	Parts         partsCommands    `cmd:"" help:"Say what fits and why not, find a part by any number, and read a parts table."`
	Route         routeCommand     `cmd:"" help:"Put all the work that is left into an order that breaks no rule."`
	Closing       closingCommand   `cmd:"" help:"Say what an operation would shut in, and what it would cost to come back."`
	Tearback      tearBackCommand  `cmd:"" help:"Say the least that must come off to get at something, and what it costs."`
	Readings      readingsCommand  `cmd:"" help:"Take readings from a table (CSV) into a journal."`
	Selectfit     selectfitCommand `cmd:"" name:"selectfit" help:"Give measured parts to measured places: the best pairing and the second best."`
	Calc          calcCommand      `cmd:"" help:"Compute one thing: buttonup calc NAME key=value …"`
	sheetCommands `embed:""`
	Version       versionCommand `cmd:"" help:"Print the version."`
}

// app is what the commands share.
type app struct {
	stdin  io.Reader
	stderr io.Writer
	out    *bufio.Writer
	json   bool
	now    func() time.Time

	// writing is held while files are changed, so that an interrupt waits until what
	// was begun is whole. changed names what is already on the disk.
	writing sync.Mutex
	changed []string

	// context ends with an interrupt. A command that sets graceful ends by itself
	// then, like a server that lets its answers finish.
	context  context.Context
	graceful atomic.Bool
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
	args, wantsJSON := takeJSON(args)
	out := &outlet{to: stdout}
	a := &app{stdin: stdin, stderr: stderr, out: bufio.NewWriter(out), json: wantsJSON, now: time.Now}
	var stop context.CancelFunc
	a.context, stop = context.WithCancel(context.Background())
	defer stop()
	done := make(chan int, 1)
	go func() { done <- a.run(args) }()
	interrupt := make(chan os.Signal, 1)
	signal.Notify(interrupt, os.Interrupt, syscall.SIGTERM)
	defer signal.Stop(interrupt)
	select {
	case code := <-done:
		return code
	case <-interrupt:
		if a.graceful.Load() {
			stop()
			return <-done
		}
		return a.cancel(out)
	}
}

// cancel ends a command that was interrupted: what is being written is finished
// first, nothing new begins, and what was changed is named.
func (a *app) cancel(out *outlet) int {
	a.writing.Lock() // and never unlocked: the program ends
	says := "cancelled; nothing was changed"
	if len(a.changed) > 0 {
		says = "cancelled, but " + strings.Join(a.changed, " and ") + " was written before that"
	}
	if untouched := out.shut(); untouched && a.json {
		b := bufio.NewWriter(out.to)
		writeJSON(b, map[string]any{"error": errorJSON{Says: says}})
		b.Flush()
		return ExitCancelled
	}
	fmt.Fprintf(a.stderr, "\nbuttonup: %s\n", says)
	return ExitCancelled
}

// change runs what changes files; name is what an interrupted person is told.
func (a *app) change(name string, write func() error) error {
	a.writing.Lock()
	defer a.writing.Unlock()
	err := write()
	if err == nil {
		a.changed = append(a.changed, name)
	}
	return err
}

// outlet is standard output until it is shut; what comes later is dropped, so that
// JSON that was interrupted is not followed by a second one.
type outlet struct {
	mu   sync.Mutex
	to   io.Writer
	used bool
	off  bool
}

func (o *outlet) Write(b []byte) (int, error) {
	o.mu.Lock()
	defer o.mu.Unlock()
	if o.off {
		return len(b), nil
	}
	o.used = true
	return o.to.Write(b)
}

// shut reports whether nothing was written before.
func (o *outlet) shut() (untouched bool) {
	o.mu.Lock()
	defer o.mu.Unlock()
	o.off = true
	return !o.used
}

func (a *app) run(args []string) (code int) {
	var help bytes.Buffer
	defer func() {
		switch p := recover().(type) {
		case nil:
		case helped:
			code = a.showHelp(p.code, help.String())
		default:
			code = a.fault(p)
		}
		if err := a.out.Flush(); err != nil {
			fmt.Fprintf(a.stderr, "buttonup: the result cannot be written: %v\nhint: make room, or send it elsewhere; exit code %d would have been given\n", plainError(err), code)
			code = ExitFailed
		}
	}()
	args = asCommands(args)
	if f := emptyArgument(args); f != nil {
		return a.fail(f)
	}
	var c commands
	parser, err := kong.New(&c, kong.Name("buttonup"),
		kong.Description("A second pair of eyes for the rebuild of an engine: engine pack + job journal = assessment. It records and computes; it never certifies. Every command takes --json, which prints JSON and nothing else, errors too."),
		kong.Writers(&help, a.stderr), kong.Exit(func(code int) { panic(helped{code}) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, NoExpandSubcommands: false}), kong.Bind(a))
	if err != nil {
		panic(err)
	}
	parsed, err := parser.Parse(args)
	if err != nil {
		return a.fail(usageError(err, args))
	}
	err = parsed.Run(a)
	var e exit
	switch {
	case err == nil:
		return ExitDone
	case errors.As(err, &e):
		return int(e)
	}
	return a.fail(err)
}

// showHelp prints what the parser wrote when help was asked for.
func (a *app) showHelp(code int, text string) int {
	if a.json {
		a.printJSON(map[string]any{"help": text})
		return code
	}
	a.out.WriteString(text)
	return code
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
	a.out.Flush() // what was found before stands before the error
	if len(f.Mistakes) > 0 {
		f.Mistakes.Write(a.stderr)
		fmt.Fprintln(a.stderr)
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
func (a *app) printJSON(v any) { writeJSON(a.out, v) }

func writeJSON(w *bufio.Writer, v any) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	if err := e.Encode(v); err != nil {
		panic(err) // a number that is none: a bug of ours, and nothing was written
	}
	w.Write(b.Bytes()) // it keeps its error, and run reports it
}

// say prints a hint to standard error, beside a result.
func (a *app) say(format string, values ...any) {
	if a.json {
		return
	}
	fmt.Fprintf(a.stderr, format+"\n", values...)
}

// watch tells a person at a terminal what takes long; the returned function ends it.
func (a *app) watch(what string) func() {
	f, ok := a.stderr.(*os.File)
	if !ok || a.json || !isTerminal(f) {
		return func() {}
	}
	begun := time.Now()
	stop, stopped := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(stopped)
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
	return func() {
		close(stop)
		<-stopped
	}
}

// isTerminal reports whether a person may be at the other end.
func isTerminal(f *os.File) bool {
	info, err := f.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0
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
