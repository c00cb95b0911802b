package pack

import (
	"strings"
	"testing"
)

// everything is a pack in which every kind of block and most attributes occur.
const everything = pair + `
check "seam" {
  at      = cylinder
  ask     = "Is the seam \"closed\" all round?"
  answers = ["closed", "open"]
  pass    = ["closed"]
}

instrument "plug gauge" {
  step        = "0.001 mm"
  uncertainty = "0.005 mm"
}

curve "lift" {
  x   = ["0 deg", "10 deg", "20 deg"]
  y   = ["0 mm", "1 mm", "3 mm"]
  fit = "linear"
}

sweep "gap" {
  over  = "0 .. 20 deg"
  value = "5 mm" - lift(x)
  find  = "smallest"
  limit = ">= 1 mm"
}

number "long" {
  value = (
    2 * (stroke + gap)
    - max(stroke, gap)
  )
  unit    = "mm"
  sources = { value = "page 41" }
}

joint "head" {
  at       = cylinder
  thread   = "M10x1.25"
  torque   = "41 .. 45 N·m"
  points   = [[0, 0], [60, 0]]
  order    = [1, 2]
  friction = "0.10 .. 0.16"
  step {
    points = [1]
    to     = "20 N·m"
  }
  step {
    to = "43 N·m"
  }
}

temporary "rag" {
  count = 2
}

operation "fit_gasket" {
  at       = cylinder
  needs    = [operation.measure]
  in       = [space.chest]
  fits     = [slot.gasket]
  tightens = [joint.head]
  holds    = [number.deck, check.seam, sweep.gap]
  puts_in  = [temporary.rag]
  uses     = ["oil, thin", "cloth"]
  wait     = "20 min"
}

operation "cover" {
  needs     = [operation.fit_gasket]
  closes    = [space.chest]
  takes_out = [temporary.rag]
  within    = { operation.measure = "3 h" }
}

lock "crank" {
  from    = [operation.fit_gasket]
  until   = [check.seam]
  forbids = [operation.cover]
}

caution "hot" {
  text       = "Hot (and sharp)."
  applies_to = [operation.cover]
}
`

// isCode tells which bytes stand outside of texts and comments; quotes count as code.
func isCode(text string) []bool {
	out := make([]bool, len(text))
	inText, inComment := false, false
	for i := 0; i < len(text); i++ {
		switch c := text[i]; {
		case inComment:
			inComment = c != '\n'
		case inText && c == '\\':
			i++
		case inText:
			if c == '"' || c == '\n' {
				inText, out[i] = false, c == '"'
			}
		case c == '"':
			inText, out[i] = true, true
		case c == '#':
			inComment = true
		default:
			out[i] = true
		}
	}
	return out
}

// slips makes the slips of a typing finger at every place of a text: a bracket,
// quote, comma or = left out or typed twice, a letter left out of a word, two lines
// run together. Of letters every third is tried, so that the test stays quick.
func slips(text string, try func(kind string, at int, slipped string)) {
	code := isCode(text)
	for i := range len(text) {
		c := text[i]
		switch {
		case !code[i]:
		case strings.IndexByte("\"{}[](),=", c) >= 0:
			try("left out", i, text[:i]+text[i+1:])
			try("typed twice", i, text[:i+1]+text[i:])
		case c >= 'a' && c <= 'z' && i%3 == 0:
			try("letter left out", i, text[:i]+text[i+1:])
		case c == '\n':
			try("line end left out", i, text[:i]+text[i+1:])
		}
	}
}

// Danger: one slip of the finger drags other mistakes behind it, and the builder
// looks for faults that are not there. Every slip of one key in a pack of everything
// must be told as one mistake; only a line end that means nothing may go
// without harm.
func TestOneSlipIsOneMistake(t *testing.T) {
	loaded(t, everything)
	count := map[string]int{}
	failed := 0
	slips(everything, func(kind string, at int, slipped string) {
		_, mistakes := Load([]File{{Name: "p.pack", Text: []byte(slipped)}}, nil)
		line := 1 + strings.Count(everything[:at], "\n")
		count[kind]++
		structural := kind == "left out" || kind == "typed twice"
		switch {
		case len(mistakes) == 1:
		case len(mistakes) == 0 && kind == "line end left out" && meansTheSame(everything, at):
		case len(mistakes) == 0 && kind == "letter left out" && strings.HasPrefix(strings.TrimSpace(everything[strings.LastIndexByte(everything[:at], '\n')+1:]), "sizes"):
			// A size may have any name, and another part has the one that formulas use.
		default:
			if failed++; failed <= 20 {
				from := strings.LastIndexByte(everything[:at], '\n') + 1
				to := from + strings.IndexByte(everything[from:], '\n')
				t.Errorf("line %d, %q %s: %d mistakes\n  %s\n%s", line, everything[at], kind, len(mistakes), everything[from:to], told(mistakes))
			}
		}
		if len(mistakes) == 1 && structural {
			// Told where it was made: on its line, or where the text first makes no
			// sense because of it.
			if at := mistakes[0].Span.Line; at > line+25 || at < line-25 {
				t.Errorf("line %d, %q %s: told at line %d: %s", line, everything[at], kind, at, mistakes[0].Says)
			}
		}
	})
	for kind, least := range map[string]int{"left out": 400, "typed twice": 400, "letter left out": 250, "line end left out": 150} {
		if count[kind] < least {
			t.Errorf("%s: only %d slips were tried", kind, count[kind])
		}
	}
}

// meansTheSame reports whether a line end may go without harm: beside an empty line,
// inside the brackets of a list, a table or a formula, and inside an empty block.
func meansTheSame(text string, at int) bool {
	before, after := strings.TrimRight(text[:at], " "), strings.TrimLeft(text[at+1:], " ")
	if after == "" {
		return true
	}
	return strings.ContainsRune("\n(,{", rune(before[len(before)-1])) || strings.ContainsRune("\n-)}", rune(after[0]))
}
