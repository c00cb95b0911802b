package cli

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// Version is the version of the program; releases set it when they are built.
var Version = "0.1.0"

type versionCommand struct {
	JSON bool `name:"json" help:"Print JSON."`
}

// Run prints the version.
func (c *versionCommand) Run(a *app) error {
	revision := ""
	if info, ok := debug.ReadBuildInfo(); ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.revision" {
				revision = s.Value
			}
		}
	}
	if a.json {
		a.printJSON(struct {
			Version  string `json:"version"`
			Language int    `json:"language"`
			Revision string `json:"revision"`
			Go       string `json:"go"`
			Platform string `json:"platform"`
		}{Version, 1, revision, runtime.Version(), runtime.GOOS + "/" + runtime.GOARCH})
		return nil
	}
	fmt.Fprintf(a.out, "buttonup %s (pack language 1, %s, %s/%s)\n", Version, runtime.Version(), runtime.GOOS, runtime.GOARCH)
	return nil
}
