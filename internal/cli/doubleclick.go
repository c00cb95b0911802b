package cli

import (
	"os"
	"path/filepath"
	"runtime"

	"github.com/mattn/go-isatty"
)

// startedByDoubleClick says whether the program was started from a desktop and not from
// a command line: then it has no arguments and nobody reads what it prints.
//
// A desktop on Linux gives a program no terminal and nothing to read. Windows opens a
// window for it that no shell has prepared. A Mac types the whole path into a new
// Terminal, in the home folder. The last two are from memory and were not tried.
func startedByDoubleClick() bool {
	switch runtime.GOOS {
	case "windows":
		return isatty.IsTerminal(os.Stdout.Fd()) && os.Getenv("PROMPT") == "" && os.Getenv("WT_SESSION") == "" && os.Getenv("PSModulePath") != "" && os.Getenv("TERM") == ""
	case "darwin":
		folder, err := os.Getwd()
		home, err2 := os.UserHomeDir()
		return err == nil && err2 == nil && folder == home && os.Getenv("TERM_PROGRAM") == "Apple_Terminal" && filepath.IsAbs(os.Args[0])
	}
	if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
		return false
	}
	// A pipe or a file is a script that asks what the program can do.
	info, err := os.Stdin.Stat()
	return err == nil && info.Mode()&os.ModeCharDevice != 0 && !isatty.IsTerminal(os.Stdin.Fd()) && !isatty.IsTerminal(os.Stdout.Fd())
}
