package packs_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"buttonup/assess"
	"buttonup/journal"
	"buttonup/pack"
	"buttonup/packs"
)

// The fitment rules that were drawn up with the demo engine: what fits what, and what
// the program says of the rest. All of it is invented.
func TestFitment(t *testing.T) {
	p := load(t, packs.Demo)
	four := func(slot, part string) string {
		return strings.Join([]string{slot + " front inlet=" + part, slot + " front exhaust=" + part, slot + " rear inlet=" + part, slot + " rear exhaust=" + part}, "; ")
	}
	for _, c := range []struct {
		series, cover string
		parts         string // "SLOT [PLACE]=PART; …"
		misfits       string // "SLOT KIND [NAME]; …", each at least once
	}{
		{"A", "", "carrier_gasket_front=AV-3105-A; carrier_gasket_rear=AV-3105-A", ""},
		{"B", "", "carrier_gasket_front=AV-3105-A", "carrier_gasket_front fits"},
		{"B", "", "carrier_gasket_front=AV-3105-F; carrier_gasket_rear=AV-3105-R", ""},
		{"B", "", "carrier_gasket_rear=AV-3105-F", "carrier_gasket_rear slot"},
		{"B", "", "carrier_front front=AV-3101-F; carrier_rear rear=AV-3101-R", ""},
		{"B", "", "carrier_front front=AV-3101-R", "carrier_front slot"},
		{"B", "", "barrel_front front=AV-4101-R; head_rear rear=AV-5101-F", "barrel_front slot; head_rear slot"},
		{"B", "", four("lifter", "AV-3112-T90") + "; " + four("pushrod", "AV-3302-AL"), ""},
		{"C", "", four("lifter", "AV-3112-T90") + "; " + four("pushrod", "AV-3302-AL"), ""},
		{"B", "", four("lifter", "AV-3112-T90") + "; " + four("pushrod", "AV-3302-ST-32"), "lifter needs adjustable aluminium pushrod; lifter excludes steel pushrod"},
		{"C", "", four("lifter", "AV-3112-T90") + "; " + four("pushrod", "AV-3301-W"), "lifter needs adjustable aluminium pushrod; lifter excludes fixed pushrod"},
		{"A", "", four("lifter", "AV-3112-T90") + "; " + four("pushrod", "AV-3302-AL"), "lifter fits"},
		{"C", "", "pushrod front inlet=AV-3301-W; pushrod front exhaust=AV-3301-R; pushrod rear inlet=AV-3301-G", ""},
		{"B", "", "pushrod front inlet=AV-3301-G", "pushrod fits"},
		{"A", "", four("pushrod", "AV-3302-ST-24") + "; " + four("adjuster_nut", "AV-3303-24"), ""},
		{"A", "", four("pushrod", "AV-3302-ST-24") + "; " + four("adjuster_nut", "AV-3303-32"), "adjuster_nut needs 32 tpi adjuster"},
		{"C", "wide", "cam=AV-2101-C2; cam_bush=AV-2110-C2", ""},
		{"C", "wide", "cam=AV-2101-S; cam_bush=AV-2110", "cam fits; cam_bush fits"},
		{"B", "", "cam=AV-2101-C2", "cam fits"},
		{"A", "", "oil_pump=AV-6101-B; pump_cover=AV-6105-B; relief_spring=AV-6120-B", ""},
		{"A", "", "oil_pump=AV-6101-B; pump_cover=AV-6105-A; relief_spring=AV-6120-A", "oil_pump needs long pump key; oil_pump needs strong relief spring; pump_cover excludes wide pump; relief_spring excludes wide pump"},
		{"B", "", "oil_pump=AV-6101-B; pump_cover=AV-6105-B", "oil_pump needs strong relief spring"},
		{"B", "", "breather=AV-6401-C; breather_blank=AV-6402", ""},
		{"B", "", "breather=AV-6401-C; breather_spacer=AV-6302", "breather needs old breather blanked; breather excludes breather spacer"},
		{"C", "", "breather=AV-6301", "breather fits"},
		{"A", "", "head_front front=AV-5101-F-A", "head_front needs hard seat inserts"},
		{"A", "", "head_front front=AV-5101-F-A; " + four("seat_insert", "AV-5150"), ""},
		{"C", "", "piston_set front=AV-4201-0", "piston_set fits"},
		{"C", "", "piston_set front=AV-4203-0; ring_set front=AV-4210-0", ""},
		{"B", "", "ring_set front=AV-4210-50", "ring_set fits"},
		{"B", "", "base_gasket front=AV-9001-C", "base_gasket fits"},
		{"A", "", "circlip front drive side=AV-9001-A", "circlip slot"},
		{"C", "", "cam_gasket_trial=AV-9001-C", "cam_gasket_trial slot"},
		{"B", "", "stud front 1=AV-1201-OS; guide rear exhaust=AV-5120-05; main_spacer=AV-1120-2950; pinion=AV-2201-A; cam_gear=AV-2210-5; cam_shim=AV-2120-120; main_rollers=AV-1131-300", ""},
	} {
		var lines []string
		event := func(e map[string]any) {
			e["id"], e["at"], e["by"] = fmt.Sprint("e", len(lines)), "2026-03-02T08:00:00Z", "bench"
			b, err := json.Marshal(e)
			if err != nil {
				t.Fatal(err)
			}
			lines = append(lines, string(b))
		}
		event(map[string]any{"kind": "option", "option": "series", "choice": c.series})
		if c.cover != "" {
			event(map[string]any{"kind": "option", "option": "cam_cover", "choice": c.cover})
		}
		for _, text := range strings.Split(c.parts, "; ") {
			where, id, _ := strings.Cut(text, "=")
			slot, place, _ := strings.Cut(where, " ")
			e := map[string]any{"kind": "part", "part": id, "slot": slot, "state": "received"}
			if place != "" {
				e["place"] = place
			}
			event(e)
		}
		a := assess.Assess(p, journal.Read([]byte(strings.Join(lines, "\n")+"\n")).Fold(), assess.Options{})
		for i := range a.Findings {
			if f := &a.Findings[i]; f.Severity == assess.Attention {
				t.Errorf("series %s, %s: %s: %s", c.series, c.parts, f.ID(), f.Detail)
			}
		}
		var got []string
		for _, m := range a.Misfits {
			for _, r := range m.Because {
				line := m.Slot + " " + r.Kind
				if r.Kind == "needs" || r.Kind == "excludes" {
					line += " " + r.Names[0]
				}
				if !slices.Contains(got, line) {
					got = append(got, line)
				}
			}
		}
		var want []string
		if c.misfits != "" {
			want = strings.Split(c.misfits, "; ")
		}
		slices.Sort(got)
		slices.Sort(want)
		if extra := slices.DeleteFunc(slices.Clone(got), func(s string) bool { return slices.Contains(want, s) || strings.HasPrefix(s, "lifter excludes") }); len(extra) > 0 {
			t.Errorf("series %s %s, %s: nobody asked for %q", c.series, c.cover, c.parts, extra)
		}
		for _, w := range want {
			if !slices.Contains(got, w) {
				t.Errorf("series %s %s, %s: not said: %q, but %q", c.series, c.cover, c.parts, w, got)
			}
		}
	}
}

// A gasket that took the place of another moves the preload: 0.30 mm of rocker box
// gasket is 0.30 × (1 + 1/1.62) = 0.49 mm. Invented figures.
func TestTheThinnerGasketIsReckonedWith(t *testing.T) {
	p := load(t, packs.Demo)
	for part, want := range map[string]string{"AV-5330": "0.00 mm", "AV-5330-1": "0.49 mm"} {
		line := `{"id":"a","at":"2026-03-02T08:00:00Z","by":"bench","kind":"part","part":"` + part + `","slot":"rocker_box_gasket","place":"front","state":"received"}` + "\n"
		r := result(assess.Assess(p, journal.Read([]byte(line)).Fold(), assess.Options{}), "number.box_gasket_effect", "front")
		if r == nil || !r.HasValue || r.Unit.Text(r.Value, 2) != want {
			t.Errorf("with %s the preload gains %v, want %s", part, r, want)
		}
	}
	if i := slices.IndexFunc(p.Parts, func(x *pack.Part) bool { return x.Name == "AV-5330-1" }); i < 0 || p.Parts[i].Supersedes != "AV-5330" {
		t.Error("AV-5330-1 does not take the place of AV-5330")
	}
}
