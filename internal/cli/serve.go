package cli

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"

	"buttonup/internal/authority"
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

// defaultAddress is that of the flag --addr.
const defaultAddress = "127.0.0.1:8484"

// listener is an open port, as package web opens it.
type listener = web.Listener

type serveCommand struct {
	dataFlags `embed:""`
	Addr      string `placeholder:"HOST:PORT" default:"127.0.0.1:8484" help:"The address to answer on: this computer alone, one of its private addresses, or 0.0.0.0 for paired phones on the shop's network."`
	Shop      bool   `help:"Let paired phones on the shop's network in, as with --addr 0.0.0.0:8484."`
	Open      bool   `help:"Open the page in the browser."`
	Demo      bool   `help:"Serve invented demo jobs from a folder of their own, made anew each time."`
}

// Run serves the pages until it is interrupted.
func (c *serveCommand) Run(a *app) error {
	if c.Shop {
		c.Addr = web.ForShop(c.Addr)
	}
	port, err := web.Listen(c.Addr)
	switch {
	case errors.Is(err, syscall.EADDRINUSE) && c.Open:
		// Started by a double-click a second time: the first still runs.
		return openInBrowser("http://" + c.Addr)
	case errors.Is(err, syscall.EADDRINUSE):
		return failed("perhaps Buttonup runs already: open http://"+c.Addr+", or choose another port, like --addr 127.0.0.1:8485", "another program answers at %s", c.Addr)
	case err != nil:
		return misused("--addr", "write it like --addr 127.0.0.1:8484", "%s", err)
	}
	defer func() { port.Close() }()
	open := store.Options{Holder: "buttonup serve at " + port.Addr().String(), Now: a.now}
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
	keys := filepath.Join(record.Dir(), "keys")
	if options.Secret, err = authority.Secret(keys, rand.Reader); err != nil {
		return failed("see who may write there", "%v", err)
	}
	options.Authority = func() (*authority.Authority, error) {
		return authority.Open(keys, authority.Here(), rand.Reader, a.now)
	}
	pages, err := web.New(record, options)
	if err != nil {
		return err
	}
	if port, err = c.forPhones(port, pages); err != nil {
		return err
	}
	c.announce(a, port, record.Dir())
	if err := a.out.Flush(); err != nil {
		return err
	}
	if c.Open {
		if err := openInBrowser(pageOf(port)); err != nil {
			fmt.Fprintf(a.stderr, "buttonup: the browser could not be started: %v\nhint: open %s\n", err, pageOf(port))
		}
	}
	a.graceful.Store(true)
	if err := pages.Serve(a.context, port); err != nil && !errors.Is(err, context.Canceled) {
		return failed("", "serving the pages ended: %v", err)
	}
	return nil
}

// forPhones opens the port to the shop's network where that was settled on the page
// Devices and no other address was asked for.
func (c *serveCommand) forPhones(l listener, pages *web.Server) (listener, error) {
	if c.Addr != defaultAddress || !pages.OpenAtStart() {
		return l, nil
	}
	if err := l.Close(); err != nil {
		return nil, err
	}
	l, err := web.Listen(web.ForShop(c.Addr))
	if err != nil {
		return nil, failed("choose another port, like --addr 127.0.0.1:8485", "%v", err)
	}
	return l, nil
}

// pageOf is where a browser on this computer finds the pages.
func pageOf(l listener) string { return web.PageOf(l) }

// announce says where the pages are, and what to answer the firewall.
func (c *serveCommand) announce(a *app, l listener, folder string) {
	fmt.Fprintf(a.out, "Buttonup answers at %s for %s; end it with Ctrl-C.\n", pageOf(l), folder)
	if web.IsForShop(l) {
		fmt.Fprintf(a.out, "Phones on the shop's network: open the page Devices there, %s/devices, and pair them.\nShould the computer ask whether Buttonup may be reached from the network: yes for private networks, no for public ones.\n", pageOf(l))
	}
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
