package calc

import (
	"errors"
	"strings"

	"buttonup/mechanics/argument"
)

// Error says why a calculation gives no answer.
type Error struct {
	// Argument names the argument as it is written; several that are impossible
	// together stand with commas between them.
	Argument string
	// Says is what is wrong, as a sentence without a full stop. It holds the value as
	// written and what is allowed, and names every argument that has a part in it.
	Says string
	// Do is what to do about it; it may be empty.
	Do string
	// Usage is set where the calculation was asked for in a way that it does not know:
	// an unknown name, a missing argument, two ways to give one thing at once.
	Usage bool
}

// Error returns what is wrong and, after a semicolon, what to do.
func (e *Error) Error() string {
	if e.Do == "" {
		return e.Says
	}
	return e.Says + "; " + e.Do
}

// refused takes an error of mechanics apart.
func refused(err error) (argumentName, says, do string, ok bool) {
	var a *argument.Error
	if errors.As(err, &a) {
		return a.Argument, a.Says, a.Do, true
	}
	return "", "", "", false
}

// explain tells an error of mechanics in the names and units of the arguments.
func (in *inputs) explain(err error) error {
	var own *Error
	if errors.As(err, &own) {
		return own
	}
	names, says, do, ok := refused(err)
	if !ok {
		names, says = "", err.Error()
	}
	var known []string
	for _, name := range strings.Split(names, ", ") {
		name = strings.ReplaceAll(name, " ", "_")
		if _, is := in.of.Argument(name); is {
			known = append(known, name)
		}
	}
	if len(known) == 0 {
		known = in.numbers() // what overflows is a result, not an argument
	}
	return in.impossible(known, says, do)
}

// together says that arguments which are each allowed are impossible together. A nil
// error stays nil.
func (in *inputs) together(err error, names ...string) error {
	if err == nil {
		return nil
	}
	_, says, do, ok := refused(err)
	if !ok {
		says = err.Error()
	}
	return in.impossible(names, says, do)
}

// impossible makes the error of arguments that cannot be used: each is named, and given
// as written where the sentence does not hold it so.
func (in *inputs) impossible(names []string, says, do string) *Error {
	for _, a := range in.of.Arguments {
		if strings.Contains(a.Name, "_") {
			says = strings.ReplaceAll(says, strings.ReplaceAll(a.Name, "_", " "), a.Name)
		}
	}
	if len(names) == 1 && !strings.Contains(says, names[0]) {
		says = names[0] + ": " + says
	}
	var untold []string
	for _, name := range names {
		w, given := in.written[name]
		_, isValue := in.values[name]
		if given && !(strings.Contains(says, name) && (strings.Contains(says, w) || len(names) == 1 && !isValue)) {
			untold = append(untold, name+" "+shortened(w))
		}
	}
	if len(untold) > 0 {
		says += " (as written: " + strings.Join(untold, ", ") + ")"
	}
	return &Error{Argument: strings.Join(names, ", "), Says: says, Do: do}
}

// overflow says that an output cannot be computed from sizes that are each allowed.
func (in *inputs) overflow(output string) *Error {
	return in.impossible(in.numbers(), output+" cannot be computed from these values", "check their units")
}

func shortened(text string) string {
	const longest = 60
	if r := []rune(text); len(r) > longest {
		return string(r[:longest]) + "…"
	}
	return text
}
