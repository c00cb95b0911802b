package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"net"
	"os"
	"path/filepath"
	"testing"
	"time"

	"buttonup/internal/authority"
	"buttonup/internal/shop"
	"buttonup/internal/store"
	"buttonup/packs"
)

// The test binary is started again as a server that can be killed.
const (
	childAt     = "BUTTONUP_WEB_CHILD" // the address to serve at
	childFolder = "BUTTONUP_WEB_FOLDER"
	childReads  = "BUTTONUP_WEB_READ" // a folder to print a journal from
	childJob    = "BUTTONUP_WEB_JOB"
	childPlain  = "BUTTONUP_WEB_PLAIN" // 1: plain http is allowed
)

func TestMain(m *testing.M) {
	if at := os.Getenv(childAt); at != "" {
		if err := childServes(at, os.Getenv(childFolder), os.Getenv(childPlain) == "1"); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	if folder := os.Getenv(childReads); folder != "" {
		if err := childPrints(folder, os.Getenv(childJob)); err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// childPrints prints a journal while another program has the folder open.
func childPrints(folder, job string) error {
	record, err := store.OpenReading(folder, store.Options{})
	if err != nil {
		return err
	}
	defer record.Close()
	events, err := record.Read(context.Background(), job, 0)
	for _, e := range events {
		fmt.Printf("%s\n", e.Bytes)
	}
	return err
}

// benchNames are those of the shop's computer in tests: phones reach it as bench.local,
// which their browser is told to find on this machine.
func benchNames() authority.Names {
	return authority.Names{Host: "bench", Addresses: []net.IP{net.IPv4(192, 168, 1, 20)}}
}

// childServes serves the demo jobs from a folder until it is killed.
func childServes(at, folder string, plain bool) error {
	ctx := context.Background()
	record, err := store.Open(folder, store.Options{})
	if err != nil {
		return err
	}
	if err := demoJobs(ctx, record); err != nil {
		return err
	}
	keys := filepath.Join(folder, "keys")
	secret, err := authority.Secret(keys, rand.Reader)
	if err != nil {
		return err
	}
	s, err := New(record, Options{Shop: "Pell Street Engines", Secret: secret, Names: benchNames, Authority: func() (*authority.Authority, error) {
		return authority.Open(keys, benchNames(), rand.Reader, time.Now)
	}, Faults: func(says string, trace []byte) { fmt.Fprintf(os.Stderr, "a fault of ours: %s\n%s", says, trace) }})
	if err != nil {
		return err
	}
	if plain && !s.house.now().On(shop.SettingPlain) {
		if err := s.house.settle(ctx, shop.KindSetting, shop.Setting{Name: shop.SettingPlain, On: true}); err != nil {
			return err
		}
	}
	l, err := Listen(at)
	if err != nil {
		return err
	}
	fmt.Println("ready", l.Addr().(*net.TCPAddr).Port)
	return s.Serve(ctx, l)
}

// demoJobs puts the demo jobs into a record that does not have them.
func demoJobs(ctx context.Context, record *store.Store) error {
	files, _ := packs.Find(packs.Demo)
	var texts store.Texts
	for _, f := range files {
		texts.Pack = append(texts.Pack, store.NamedText{Name: f.Name, Text: f.Text})
	}
	for id, name := range map[string]string{"0412": "clean-rebuild", "0415": "mid-inspection", "0417": "swapped-gasket", "0418": "crank-truing"} {
		if _, err := record.Job(ctx, id); err == nil {
			continue
		}
		text, ok := packs.Journal(packs.Demo, name)
		if !ok {
			return fmt.Errorf("no journal %s", name)
		}
		if _, err := record.CreateJob(ctx, store.NewJob{ID: id, Title: name, Texts: texts}); err != nil {
			return err
		}
		if _, err := record.Import(ctx, id, text); err != nil {
			return err
		}
	}
	return nil
}
