// Package demo makes the finished demo job: the whole journal of the invented engine
// with what a shop adds beside readings, and drawn photos. Books, bundles and the
// search are shown and tested on it.
//
// Everything in it is invented. It knows nothing of how a job is kept or shown.
package demo

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"strings"
	"sync"
	"time"

	"buttonup/journal"
	"buttonup/packs"
)

// Photos is how many photos the finished job has.
const Photos = 60

// Finished returns the journal of the finished job, and its photos by their SHA-256.
// It is the journal "whole-job" that the program carries, with wrenches and lots put
// in, bores as they were found, a struck reading, something entered later, notes,
// approvals, work sent out, time, money and photos.
//
// What it returns is made once and shared; it must not be changed.
func Finished() (text []byte, photos map[string][]byte) { return finished() }

var finished = sync.OnceValues(makeFinished)

func makeFinished() (text []byte, photos map[string][]byte) {
	carried, ok := packs.Journal(packs.Demo, "whole-job")
	if !ok {
		panic("demo: the program carries no journal whole-job")
	}
	photos = map[string][]byte{}
	var out bytes.Buffer
	found := false
	for line := range strings.Lines(string(carried)) {
		line = strings.TrimRight(line, "\n")
		switch {
		case strings.Contains(line, `"kind":"torque"`):
			line = withWrench(line)
		case strings.Contains(line, `"kind":"part"`):
			line = withLot(line)
		case strings.Contains(line, `"kind":"reading","of":"bore",`):
			if !found {
				found = true
				foundBores(&out)
			}
			line = strings.TrimSuffix(line, "}") + `,"phase":"as-built"}`
		}
		out.WriteString(line + "\n")
	}
	add := func(at, by string, late bool, body any) {
		t, err := time.Parse(time.RFC3339, at)
		if err != nil {
			panic(err)
		}
		e := journal.New(fmt.Sprintf("01K%04d", strings.Count(out.String(), "\n")+1), t, by, body)
		e.Late = late
		b, err := e.Encode()
		if err != nil {
			panic(err)
		}
		out.Write(b)
		out.WriteByte('\n')
	}
	add("2026-05-04T08:20:00Z", "T. O.", false, journal.Approval{What: "whole engine, new top end, stop and call at", Amount: "2400.00", Who: "customer 63"})
	for _, e := range [][2]string{{"labour, 40 h", "1400.00"}, {"parts and gaskets", "620.00"}, {"work outside", "180.00"}} {
		add("2026-05-04T08:21:00Z", "T. O.", false, journal.Estimate{What: e[0], Amount: e[1]})
	}
	add("2026-05-04T09:05:00Z", "T. O.", false, journal.Note{Text: "Came in with oil in the breather and the rear barrel dry. Owner declined new exhaust valves, in writing."})
	add("2026-05-05T09:00:00Z", "T. O.", false, journal.Part{Slot: "piston_set", Place: "rear", State: journal.Sent, To: "Corve Lane Grinding", Asked: "hone both barrels to 92.004 to 92.008 mm at 20 °C with a torque plate; pistons measured and enclosed", Due: "2026-05-08"})
	add("2026-05-08T15:00:00Z", "T. O.", false, journal.Part{Slot: "piston_set", Place: "rear", State: journal.Back, To: "Corve Lane Grinding"})
	add("2026-05-05T09:10:00Z", "T. O.", false, journal.Cost{What: "honing, Corve Lane Grinding", Amount: "164.50"})
	add("2026-05-06T12:03:30Z", "R. V.", false, journal.Part{Part: "AV-2101-S", Slot: "cam", State: journal.Kept})
	wrong := len(strings.Split(out.String(), "\n"))
	add("2026-05-04T11:24:00Z", "T. O.", false, journal.Reading{Of: "bore", Place: "front", Cell: journal.Cell{Position: "10 mm", Axis: "thrust"}, Value: "92.055 mm", Instrument: "bg-1", Temperature: "20 degC", Phase: journal.AsBuilt})
	add("2026-05-04T11:24:30Z", "T. O.", false, journal.Strike{Event: fmt.Sprintf("01K%04d", wrong), Why: "read 0.05 too large: the gauge was not rocked to the smallest figure"})
	add("2026-05-11T19:30:00Z", "T. O.", true, journal.Note{Text: "Rear rocker cover gasket: the first one was nicked on fitting and thrown away; a second one is fitted."})
	for i, m := range []float64{95, 210, 140, 320, 185, 260} {
		add(fmt.Sprintf("2026-05-%02dT17:30:00Z", 5+i), "T. O.", false, journal.TimeWorked{Minutes: m, Operation: []string{"final_true", "crank_into_cases", "close_cases", "cam_degreed", "carrier_on", "head_nuts_tight"}[i]})
	}
	add("2026-05-12T10:00:00Z", "T. O.", false, journal.Mark{What: "camera on"})
	add("2026-05-14T09:10:00Z", "T. O.", false, journal.Note{Text: "Run 1: 52 s, pressure in 3 s, 2.1 bar at 2,000 r/min, no leak, barrels 62 and 65 °C."})
	add("2026-05-14T16:50:00Z", "T. O.", false, journal.Note{Text: "Road, 80 km: no oil on the floor, both plugs light brown. Oil and filter changed."})
	add("2026-05-15T08:40:00Z", "T. O.", false, journal.Deviation{Finding: "measure.coarse-gauge dimension.crank_end_play", Why: "read three times; the dial is the finest here"})
	subjects := []string{"space.crankcase", "space.cam_chest", "operation.marks_set", "operation.carrier_on front", "operation.carrier_on rear", "space.cylinders front", "space.cylinders rear", "space.rocker_box front", "space.rocker_box rear", "check.rods_oiled"}
	for i := range Photos {
		photo := picture(i)
		sum := sha256.Sum256(photo)
		sha := hex.EncodeToString(sum[:])
		photos[sha] = photo
		add(fmt.Sprintf("2026-05-%02dT%02d:%02d:00Z", 5+i/8, 9+i%8, i%60), "phone", false, journal.Photo{SHA256: sha, Of: subjects[i%len(subjects)]})
	}
	return out.Bytes(), photos
}

// withWrench names the wrench that has the torque in its range.
func withWrench(line string) string {
	_, rest, ok := strings.Cut(line, `"value":"`)
	if !ok {
		return line
	}
	var v float64
	if _, err := fmt.Sscanf(rest, "%f", &v); err != nil {
		return line
	}
	wrench := "tw-1"
	switch {
	case v >= 60:
		wrench = "tw-2"
	case v < 10:
		wrench = "tw-3"
	}
	return strings.TrimSuffix(line, "}") + `,"wrench":"` + wrench + `"}`
}

// withLot gives every part that is fitted a lot of its own making.
func withLot(line string) string {
	if !strings.Contains(line, `"state":"fitted"`) || strings.Contains(line, `"lot"`) {
		return line
	}
	_, rest, _ := strings.Cut(line, `"part":"`)
	id, _, _ := strings.Cut(rest, `"`)
	sum := sha256.Sum256([]byte(id))
	return strings.TrimSuffix(line, "}") + fmt.Sprintf(`,"lot":"L %02d-%03d"}`, 20+sum[0]%6, int(sum[1])+100)
}

// foundBores are the bores as they came in: worn, and worn most near the top.
func foundBores(out *bytes.Buffer) {
	n := 0
	for _, place := range []string{"front", "rear"} {
		for i, position := range []string{"10 mm", "40 mm", "75 mm", "110 mm"} {
			for k, axis := range []string{"thrust", "pin"} {
				n++
				v := 92.031 - 0.007*float64(i) - 0.006*float64(k)
				if place == "rear" {
					v += 0.009
				}
				fmt.Fprintf(out, `{"id":"01J9%03d","at":"2026-05-04T09:%02d:00Z","by":"bench","kind":"reading","of":"bore","place":"%s","cell":{"position":"%s","axis":"%s"},"value":"%.3f mm","instrument":"bg-1","temperature":"20 degC","phase":"as-found"}`+"\n", n, 20+n, place, position, axis, v)
			}
		}
	}
}

// picture draws one photo: a cover with its bolts on a bench, never twice the same.
func picture(n int) []byte {
	const w, h = 640, 480
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	bolts := 4 + n%5
	cx, cy := 320+float64(n%7-3)*12, 240+float64(n%5-2)*10
	holes := make([][2]float64, bolts)
	for b := range holes {
		a := 2*math.Pi*float64(b)/float64(bolts) + float64(n)*0.1
		holes[b] = [2]float64{150 * math.Cos(a), 150 * math.Sin(a)}
	}
	for y := range h {
		for x := range w {
			dx, dy := float64(x)-cx, float64(y)-cy
			r := dx*dx + dy*dy
			grain := float64((x*7+y*13+n*31)%17) - 8
			v := 96 + grain + 0.05*float64(y)
			if r < 190*190 {
				v = 168 + grain*0.6 - 0.12*dx - 0.1*dy
			}
			for _, h := range holes {
				bx, by := dx-h[0], dy-h[1]
				switch br := bx*bx + by*by; {
				case br < 16*16:
					v = 70 + grain
				case br < 22*22:
					v = 205
				}
			}
			if r < 60*60 && r > 52*52 {
				v = 60
			}
			// A row of squares at the foot counts the photo, so that two are never alike.
			if y > h-26 && y < h-8 && x > 10 && x < 10+18*8 && (x-10)%18 < 14 && n>>((x-10)/18)&1 == 1 {
				v = 240
			}
			g := uint8(math.Max(0, math.Min(255, v)))
			img.SetRGBA(x, y, color.RGBA{g, g, uint8(math.Min(255, float64(g)+6)), 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, img, &jpeg.Options{Quality: 82}); err != nil {
		panic(err)
	}
	return b.Bytes()
}
