package web

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"buttonup/internal/store"
	"buttonup/journal"
)

// The torture of the outbox happens at the level of HTTP, with an outbox that does what
// assets/outbox.js does: it sends from the oldest on, in one order, and forgets an entry
// only when it was acknowledged. The server is a program of its own that is killed for
// good (kill -9). What a real browser adds is checked in browser/shop.mjs.
const (
	// askForTorture is how many sequences, and askForLoad how many seconds of load.
	askForTorture = "BUTTONUP_TORTURE_SEQUENCES"
	askForLoad    = "BUTTONUP_TORTURE_LOAD"
	// tortureResult is a file to write what was found into.
	tortureResult = "BUTTONUP_TORTURE_RESULT"

	shortSequences, shortLoad = 10, 10
	tortureJob                = "0415"
	loadDevices, loadRate     = 20, 10
)

func orAsked(name string, short int) int {
	if n, err := strconv.Atoi(os.Getenv(name)); err == nil && n > 0 {
		return n
	}
	return short
}

// killable is a server that can be killed and started again on the same folder.
type killable struct {
	t            *testing.T
	folder, port string
	cmd          *exec.Cmd
	kills        int
}

func (k *killable) start() {
	k.t.Helper()
	program, err := os.Executable()
	if err != nil {
		k.t.Fatal(err)
	}
	k.cmd = exec.Command(program)
	k.cmd.Env = append(os.Environ(), childAt+"=0.0.0.0:"+k.port, childFolder+"="+k.folder, childPlain+"=1")
	k.cmd.Stderr = os.Stderr
	out, err := k.cmd.StdoutPipe()
	if err != nil {
		k.t.Fatal(err)
	}
	if err := k.cmd.Start(); err != nil {
		k.t.Fatal(err)
	}
	line, err := bufio.NewReader(out).ReadString('\n')
	if err != nil || !strings.HasPrefix(line, "ready") {
		k.t.Fatalf("the server says %q, %v", line, err)
	}
}

func (k *killable) kill() {
	k.kills++
	_ = k.cmd.Process.Kill()
	_ = k.cmd.Wait()
}

// phone is a paired device with its outbox.
type phone struct {
	name   string
	base   string
	client *http.Client
	cookie *http.Cookie

	mu    sync.Mutex
	token string
	queue []string // lines, the oldest first
	made  []string // ids, in the order in which they were entered
	acked map[string]bool
	skew  time.Duration
}

var codeOnPage = regexp.MustCompile(`id="code">([0-9A-Z-]+)<`)
var tokenOnPage = regexp.MustCompile(`name="token" value="([0-9a-f]+)"`)

// pairPhone pairs a device as two people with a browser each would.
func pairPhone(port, name string) (*phone, error) {
	here, there := "http://127.0.0.1:"+port, "http://bench.local:"+port
	c := &http.Client{Timeout: 10 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }, Transport: toBench(port)}
	form := func(base, path string, values url.Values) (*http.Response, error) {
		page, err := c.Get(base + strings.TrimSuffix(path, "/code"))
		if err != nil {
			return nil, err
		}
		text, err := io.ReadAll(page.Body)
		page.Body.Close()
		m := tokenOnPage.FindSubmatch(text)
		if err != nil || m == nil {
			return nil, fmt.Errorf("%s has no token: %s", path, text)
		}
		values.Set("token", string(m[1]))
		r, err := http.NewRequest("POST", base+path, strings.NewReader(values.Encode()))
		if err != nil {
			return nil, err
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", base)
		return c.Do(r)
	}
	if a, err := form(here, "/devices/code", url.Values{}); err != nil {
		return nil, err
	} else if a.Body.Close(); a.StatusCode != http.StatusSeeOther {
		return nil, fmt.Errorf("no code: %s", a.Status)
	}
	page, err := c.Get(here + "/devices")
	if err != nil {
		return nil, err
	}
	text, _ := io.ReadAll(page.Body)
	page.Body.Close()
	code := codeOnPage.FindSubmatch(text)
	if code == nil {
		return nil, errors.New("no code on the page")
	}
	a, err := form(there, "/pair", url.Values{"code": {string(code[1])}, "name": {name}})
	if err != nil {
		return nil, err
	}
	a.Body.Close()
	if a.StatusCode != http.StatusSeeOther || len(a.Cookies()) != 1 {
		return nil, fmt.Errorf("not paired: %s", a.Status)
	}
	return &phone{name: name, base: there, client: &http.Client{Timeout: 10 * time.Second, Transport: toBench(port)}, cookie: a.Cookies()[0], acked: map[string]bool{}}, nil
}

// enter puts an entry into the outbox.
func (p *phone) enter(body any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	id := fmt.Sprintf("%s-%05d", p.name, len(p.made))
	line, err := journal.New(id, time.Now().Add(p.skew), "", body).Encode()
	if err != nil {
		panic(err)
	}
	p.made = append(p.made, id)
	p.queue = append(p.queue, strings.Replace(string(line), `,"by":""`, "", 1))
}

func (p *phone) do(ctx context.Context, method, path, body string) (*http.Response, error) {
	r, err := http.NewRequestWithContext(ctx, method, p.base+path, strings.NewReader(body))
	if err != nil {
		return nil, err
	}
	r.AddCookie(p.cookie)
	if method == "POST" {
		r.Header.Set("Content-Type", "application/x-ndjson")
		r.Header.Set("Origin", p.base)
		p.mu.Lock()
		r.Header.Set(headerToken, p.token)
		p.mu.Unlock()
	}
	return p.client.Do(r)
}

// reload is what loading the page again does: all is forgotten but what is on the disk
// of the phone.
func (p *phone) reload() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.token = ""
	p.client.CloseIdleConnections()
}

// deliver sends the oldest entries. Lost says that the answer does not arrive.
func (p *phone) deliver(ctx context.Context, most int, lost bool) error {
	p.mu.Lock()
	batch := slices.Clone(p.queue[:min(most, len(p.queue))])
	p.mu.Unlock()
	if len(batch) == 0 {
		return nil
	}
	send := func() (*http.Response, error) {
		return p.do(ctx, "POST", "/job/"+tortureJob+"/events", strings.Join(batch, "\n")+"\n")
	}
	a, err := send()
	if err != nil {
		return err
	}
	if a.StatusCode == http.StatusForbidden {
		a.Body.Close()
		if err := p.renew(ctx); err != nil {
			return err
		}
		if a, err = send(); err != nil {
			return err
		}
	}
	defer a.Body.Close()
	if a.StatusCode != http.StatusOK {
		return fmt.Errorf("answered %s", a.Status)
	}
	if lost {
		return errors.New("the answer is lost")
	}
	var all takenAll
	if err := json.NewDecoder(a.Body).Decode(&all); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, x := range all.Answers {
		if x.Outcome != "kept" && x.Outcome != "already" {
			return fmt.Errorf("entry %s was %s: %s", x.ID, x.Outcome, x.Says)
		}
		p.acked[x.ID] = true
		p.queue = slices.DeleteFunc(p.queue, func(l string) bool { return strings.Contains(l, `"id":"`+x.ID+`"`) })
	}
	return nil
}

func (p *phone) renew(ctx context.Context) error {
	a, err := p.do(ctx, "GET", "/token", "")
	if err != nil {
		return err
	}
	defer a.Body.Close()
	var t struct{ Token string }
	if err := json.NewDecoder(a.Body).Decode(&t); err != nil {
		return err
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.token = t.Token
	return nil
}

func (p *phone) waiting() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return len(p.queue)
}

// entry is something that is entered at the bench.
func entry(r *rand.Rand, n int) any {
	switch r.IntN(4) {
	case 0:
		return journal.Reading{Of: "bore", Place: "front", Cell: journal.Cell{Position: "10 mm", Axis: "thrust"}, Value: fmt.Sprintf("92.%03d mm", r.IntN(90))}
	case 1:
		return journal.Torque{Joint: "head_nuts", Place: "front", All: true, Stage: 1 + r.IntN(3), Value: "12 N·m"}
	case 2:
		return journal.Check{Of: "bore_surface", Place: "front", Answer: "clean"}
	}
	return journal.Note{Text: fmt.Sprintf("entry %d", n)}
}

// TestOutboxTorture runs random sequences of what can go wrong between a phone and the
// computer: no network, answers that are lost, loading again, kill -9, a clock that jumps,
// and the same delivery twice at once. Every entry is in the journal once, in the order
// in which its phone made it.
func TestOutboxTorture(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some seconds; make test runs it")
	}
	sequences := orAsked(askForTorture, shortSequences)
	began := time.Now()
	k := &killable{t: t, folder: filepath.Join(t.TempDir(), "record"), port: freePort(t)}
	k.start()
	t.Cleanup(k.kill)
	total := map[string]int{}
	var phones []*phone
	for seed := range sequences {
		r := rand.New(rand.NewPCG(uint64(seed), 8))
		var two []*phone
		for i := range 2 {
			p, err := pairPhone(k.port, fmt.Sprintf("s%03d-%c", seed, 'a'+i))
			if err != nil {
				t.Fatalf("seed %d: %v", seed, err)
			}
			two = append(two, p)
		}
		for what, n := range torment(t, k, two, r) {
			total[what] += n
		}
		phones = append(phones, two...)
		if seed%40 == 39 { // a hundred devices are the most that are paired at a time
			sendAllAway(t, k.port)
		}
	}
	checkDelivered(t, k.folder, phones, total)
	says := fmt.Sprintf("outbox torture, HTTP with a simulated outbox: %d sequences, 2 phones each, %d entries, all acknowledged and each once and in order; %s; %d times kill -9; %.0f s", sequences, total["entries"], counted(total, "entries"), k.kills, time.Since(began).Seconds())
	t.Log(says)
	note(t, says)
}

func counted(total map[string]int, not string) string {
	var list []string
	for what, n := range total {
		if what != not {
			list = append(list, fmt.Sprintf("%s %d", what, n))
		}
	}
	slices.Sort(list)
	return strings.Join(list, ", ")
}

// torment is one random sequence.
func torment(t *testing.T, k *killable, two []*phone, r *rand.Rand) map[string]int {
	did := map[string]int{}
	ctx := t.Context()
	for step := range 14 {
		p := two[r.IntN(2)]
		for range 1 + r.IntN(4) {
			p.enter(entry(r, step))
		}
		switch what := r.IntN(12); what {
		case 0, 1:
			did["disconnected"]++ // nothing is sent
		case 2:
			did["loaded again"]++
			p.reload()
		case 3:
			did["clock jumped"]++
			p.skew = time.Duration(r.IntN(2000)-1000) * time.Minute
		case 4, 5:
			did["answer lost"]++
			_ = p.deliver(ctx, 1+r.IntN(50), true)
		case 6, 7:
			did["delivered twice at once"]++
			var both sync.WaitGroup
			for range 2 {
				both.Go(func() { _ = p.deliver(ctx, 50, false) })
			}
			both.Wait()
		case 8:
			// Cut off somewhere in the middle.
			did["cut off"]++
			short, cancel := context.WithTimeout(ctx, time.Duration(r.IntN(4000))*time.Microsecond)
			_ = p.deliver(short, 50, false)
			cancel()
		case 9:
			did["killed while delivering"]++
			var under sync.WaitGroup
			for _, q := range two {
				under.Go(func() { _ = q.deliver(ctx, 50, false) })
			}
			time.Sleep(time.Duration(r.IntN(6000)) * time.Microsecond)
			k.kill()
			under.Wait()
			k.start()
		default:
			did["delivered"]++
			_ = p.deliver(ctx, 1+r.IntN(50), false)
		}
	}
	for _, p := range two {
		for tries := 0; p.waiting() > 0; tries++ {
			if err := p.deliver(ctx, 50, false); err != nil && tries > 20 {
				t.Fatalf("%s cannot deliver: %v", p.name, err)
			}
		}
	}
	return did
}

func sendAllAway(t *testing.T, port string) {
	t.Helper()
	c := &http.Client{CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}
	here := "http://127.0.0.1:" + port
	page, err := c.Get(here + "/devices")
	if err != nil {
		t.Fatal(err)
	}
	text, _ := io.ReadAll(page.Body)
	page.Body.Close()
	token := tokenOnPage.FindSubmatch(text)
	for _, m := range regexp.MustCompile(`name="device" value="([0-9A-Z]+)"`).FindAllSubmatch(text, -1) {
		r, err := http.NewRequest("POST", here+"/devices/gone", strings.NewReader(url.Values{"token": {string(token[1])}, "device": {string(m[1])}}.Encode()))
		if err != nil {
			t.Fatal(err)
		}
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", here)
		a, err := c.Do(r)
		if err != nil || a.StatusCode != http.StatusSeeOther {
			t.Fatalf("%v %v", a, err)
		}
		a.Body.Close()
	}
}

// checkDelivered holds the journal against what the phones entered.
func checkDelivered(t *testing.T, folder string, phones []*phone, total map[string]int) {
	t.Helper()
	record, err := store.OpenReading(folder, store.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer record.Close()
	events, err := record.Read(t.Context(), tortureJob, 0)
	if err != nil {
		t.Fatal(err)
	}
	kept := map[string][]string{} // by phone
	for _, stored := range events {
		e, err := journal.Decode(stored.Bytes)
		if err != nil {
			t.Fatal(err)
		}
		if i := strings.LastIndexByte(e.ID, '-'); i > 0 && e.ID[0] == 's' || strings.HasPrefix(e.ID, "load") {
			name := e.ID[:i]
			kept[name] = append(kept[name], e.ID)
			if e.By != name {
				t.Errorf("%s is by %q", e.ID, e.By)
			}
		}
	}
	for _, p := range phones {
		total["entries"] += len(p.made)
		if len(p.acked) != len(p.made) {
			t.Errorf("%s: %d of %d entries were acknowledged", p.name, len(p.acked), len(p.made))
		}
		if !slices.Equal(kept[p.name], p.made) {
			t.Errorf("%s entered %d and the journal has %d, or another order:\n%v\n%v", p.name, len(p.made), len(kept[p.name]), p.made, kept[p.name])
		}
	}
	asides, err := record.Asides(t.Context(), tortureJob)
	if err != nil || len(asides) > 0 {
		t.Errorf("%d lines were set aside, %v", len(asides), err)
	}
	report, err := record.Verify(t.Context())
	if err != nil || len(report.Damage) > 0 {
		t.Errorf("the record is damaged: %+v, %v", report.Damage, err)
	}
}

// TestManyPhonesAtOnce lets 20 phones enter 10 times a second each, while each listens for
// changes, and measures how long an entry takes to be acknowledged and to be told to all.
func TestManyPhonesAtOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("takes ten seconds; make test runs it")
	}
	seconds := orAsked(askForLoad, shortLoad)
	k := &killable{t: t, folder: filepath.Join(t.TempDir(), "record"), port: freePort(t)}
	k.start()
	t.Cleanup(k.kill)
	var phones []*phone
	for i := range loadDevices {
		p, err := pairPhone(k.port, fmt.Sprintf("load%02d", i))
		if err != nil {
			t.Fatal(err)
		}
		if err := p.renew(t.Context()); err != nil {
			t.Fatal(err)
		}
		phones = append(phones, p)
	}
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	var acks, lives timings
	var sentAt sync.Map // number of an event → when it was sent
	var listeners, workers sync.WaitGroup
	var failures atomic.Int64
	for _, p := range phones {
		listeners.Go(func() { p.hear(ctx, &sentAt, &lives) })
	}
	time.Sleep(300 * time.Millisecond)
	end := time.Now().Add(time.Duration(seconds) * time.Second)
	for i, p := range phones {
		r := rand.New(rand.NewPCG(uint64(i), 9))
		workers.Go(func() {
			next := time.Now().Add(time.Duration(i) * time.Second / loadDevices / loadRate)
			for n := 0; next.Before(end); n++ {
				time.Sleep(time.Until(next))
				next = next.Add(time.Second / loadRate)
				began := time.Now()
				p.enter(entry(r, n))
				if p.sendOne(ctx, began, &sentAt) != nil {
					failures.Add(1)
				}
				acks.add(time.Since(began))
			}
		})
	}
	workers.Wait()
	time.Sleep(500 * time.Millisecond)
	cancel()
	listeners.Wait()
	for _, p := range phones {
		for p.waiting() > 0 {
			if err := p.deliver(t.Context(), 50, false); err != nil {
				t.Fatal(err)
			}
		}
	}
	total := map[string]int{}
	checkDelivered(t, k.folder, phones, total)
	want := seconds * loadDevices * loadRate
	if total["entries"] < want*9/10 {
		t.Errorf("%d entries were made in time, of %d", total["entries"], want)
	}
	says := fmt.Sprintf("load: %d phones at %d entries a second for %d s: %d entries, each once and in order, %d deliveries repeated; acknowledged p50 %d ms, p95 %d ms, p99 %d ms; told to the others p50 %d ms, p95 %d ms, p99 %d ms (%d times); %d processors",
		loadDevices, loadRate, seconds, total["entries"], failures.Load(), acks.at(50), acks.at(95), acks.at(99), lives.at(50), lives.at(95), lives.at(99), lives.count(), runtime.NumCPU())
	t.Log(says)
	note(t, says)
	if lives.count() == 0 {
		t.Error("nobody heard of a change")
	}
	// The median is held: one hiccup of a busy machine is not a broken stream.
	if lives.at(50) > 500 {
		t.Errorf("half of the changes took more than %d ms to reach the others", lives.at(50))
	}
}

// sendOne delivers what waits and notes when the newest was sent.
func (p *phone) sendOne(ctx context.Context, began time.Time, sentAt *sync.Map) error {
	p.mu.Lock()
	batch := strings.Join(p.queue, "\n")
	p.mu.Unlock()
	a, err := p.do(ctx, "POST", "/job/"+tortureJob+"/events", batch)
	if err != nil {
		return err
	}
	defer a.Body.Close()
	var all takenAll
	if err := json.NewDecoder(a.Body).Decode(&all); err != nil || len(all.Answers) == 0 {
		return fmt.Errorf("%s: %v", a.Status, err)
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for _, x := range all.Answers {
		if x.Outcome == "kept" || x.Outcome == "already" {
			p.acked[x.ID] = true
			p.queue = p.queue[1:]
		}
		sentAt.LoadOrStore(x.Seq, began)
	}
	return nil
}

// hear listens for changes as a page does. A change is counted when it is about an
// event of which it is known when it was sent, at the moment it is heard or just after.
func (p *phone) hear(ctx context.Context, sentAt *sync.Map, lives *timings) {
	r, err := http.NewRequestWithContext(ctx, "GET", p.base+"/job/"+tortureJob+"/events", nil)
	if err != nil {
		return
	}
	r.AddCookie(p.cookie)
	a, err := (&http.Client{Transport: p.client.Transport}).Do(r)
	if err != nil {
		return
	}
	defer a.Body.Close()
	for lines := bufio.NewScanner(a.Body); lines.Scan(); {
		text, is := bytes.CutPrefix(lines.Bytes(), []byte("data: "))
		if !is {
			continue
		}
		seq, err := strconv.ParseInt(string(text), 10, 64)
		heard := time.Now()
		if err != nil {
			continue
		}
		go func() {
			// The answer that says which number an entry got may come after the news.
			for range 50 {
				if began, ok := sentAt.Load(seq); ok {
					lives.add(heard.Sub(began.(time.Time)))
					return
				}
				time.Sleep(10 * time.Millisecond)
			}
		}()
	}
}

// timings are how long things took.
type timings struct {
	mu   sync.Mutex
	list []time.Duration
}

func (t *timings) add(d time.Duration) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.list = append(t.list, d)
}

func (t *timings) count() int {
	t.mu.Lock()
	defer t.mu.Unlock()
	return len(t.list)
}

func (t *timings) at(percent int) int64 {
	t.mu.Lock()
	defer t.mu.Unlock()
	if len(t.list) == 0 {
		return 0
	}
	slices.Sort(t.list)
	return t.list[min(len(t.list)-1, len(t.list)*percent/100)].Milliseconds()
}

// note adds a line to the file of results, when one is asked for.
func note(t *testing.T, says string) {
	t.Helper()
	name := os.Getenv(tortureResult)
	if name == "" {
		return
	}
	f, err := os.OpenFile(name, os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o644)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if _, err := fmt.Fprintf(f, "- %s: %s.\n", time.Now().UTC().Format("2006-01-02 15:04 UTC"), says); err != nil {
		t.Fatal(err)
	}
}

// toBench finds bench.local on this machine, as the network of a shop would.
func toBench(port string) *http.Transport {
	return &http.Transport{DialContext: func(ctx context.Context, network, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, network, "127.0.0.1:"+port)
	}}
}
