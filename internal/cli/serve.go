package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"

	"buttonup/internal/store"
	"buttonup/internal/web"
)

// dataFlags name the folder that holds the shop's record.
type dataFlags struct {
	Data string `placeholder:"DIR" env:"BUTTONUP_DATA" help:"The folder of the shop's record; left out: the folder buttonup in your home folder."`
}

// folder returns the data folder as given, or the usual one.
func (f dataFlags) folder() (string, error) {
	if f.Data != "" {
		return f.Data, nil
	}
	home, err := os.UserHomeDir()
	if err != nil {
		return "", misused("--data", "name a folder, like --data record", "there is no home folder to keep the record in")
	}
	return filepath.Join(home, "buttonup"), nil
}

type serveCommand struct {
	dataFlags `embed:""`
	Addr      string `placeholder:"HOST:PORT" default:"127.0.0.1:8484" help:"The address to answer on; only this computer's own."`
	Demo      bool   `help:"Serve invented demo jobs from a folder of their own, made anew each time."`
}

// Run serves the pages until it is interrupted.
func (c *serveCommand) Run(a *app) error {
	listener, err := web.Listen(c.Addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE):
		return failed("perhaps Buttonup runs already: open http://"+c.Addr+", or choose another port, like --addr 127.0.0.1:8485", "another program answers at %s", c.Addr)
	case err != nil:
		return misused("--addr", "write it like --addr 127.0.0.1:8484", "%s", err)
	}
	defer listener.Close()
	address := "http://" + listener.Addr().String()
	open := store.Options{Holder: "buttonup serve at " + listener.Addr().String(), Now: a.now}
	record, err := c.open(a, open)
	if err != nil {
		return err
	}
	defer record.Close()
	options := web.Options{Demo: c.Demo, Now: a.now, Faults: func(says string, trace []byte) {
		fmt.Fprintf(a.stderr, "buttonup: this is a fault in Buttonup: %s\n%s", says, trace)
	}}
	if c.Demo {
		options.Shop = demoShop
	}
	pages, err := web.New(record, options)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "Buttonup answers at %s for %s; end it with Ctrl-C.\n", address, record.Dir())
	if err := a.out.Flush(); err != nil {
		return err
	}
	a.graceful.Store(true)
	if err := pages.Serve(a.context, listener); err != nil && !errors.Is(err, context.Canceled) {
		return failed("", "serving the pages ended: %v", err)
	}
	return nil
}

// open opens the record, or makes the demo anew.
func (c *serveCommand) open(a *app, o store.Options) (*store.Store, error) {
	if !c.Demo {
		folder, err := c.folder()
		if err != nil {
			return nil, err
		}
		if isDemo(folder) {
			return nil, failed("serve it with --demo, or name another folder", "%s holds the demo jobs", folder)
		}
		record, err := store.Open(folder, o)
		if err == nil {
			// The first run makes the key that the shop signs with.
			if _, err = record.SigningKey(); err != nil {
				record.Close()
			}
		}
		return record, storeError(err)
	}
	folder := filepath.Join(os.TempDir(), fmt.Sprintf("buttonup-demo-%d", os.Getuid()))
	if c.Data != "" {
		folder = filepath.Join(c.Data, "demo")
	}
	return makeDemo(a.context, folder, o)
}

// storeError turns a failure of the record into one of a command.
func storeError(err error) error {
	var e *store.Error
	if errors.As(err, &e) {
		return failed(e.Do, "%s", e.Says)
	}
	return err
}
