// Command buttonup is a second pair of eyes for the rebuild of an engine.
package main

import (
	"os"

	"buttonup/internal/cli"
)

func main() {
	os.Exit(cli.Main(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
}
