package shop

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"time"
)

// The kinds of entries.
const (
	KindDevice     = "device"
	KindDeviceGone = "device-gone"
	KindPerson     = "person"
	KindPersonGone = "person-gone"
	KindAtDevice   = "at-device"
	KindSetting    = "setting"
)

// Device is a phone or tablet that was paired.
type Device struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// Token is the SHA-256 of the token that the device holds, in hexadecimal digits.
	Token string `json:"token"`
	// Plain is true for a device that was paired without encryption: its token may have
	// been overheard, so it opens nothing over https.
	Plain  bool      `json:"plain,omitempty"`
	Paired time.Time `json:"-"`
	At     `json:"-"`
}

// At is who is at a device.
type At struct {
	// Person is the id of who was last at it, "" for nobody in particular.
	Person string
	Since  time.Time
	// Proven is true when a PIN was given.
	Proven bool
	// Names are those under which entries of the device may stand: its own, and of
	// everybody who was at it.
	Names []string
}

// Here is the id that stands for the computer itself.
const Here = "here"

// Person is somebody who works in the shop.
type Person struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	// PIN is what [HashPIN] made, "" for none.
	PIN string `json:"pin,omitempty"`
}

// The settings. All are off until they are switched on.
const (
	// SettingOpen lets paired devices in when the program starts.
	SettingOpen = "open"
	// SettingPlain lets devices in without encryption.
	SettingPlain = "plain"
	// SettingPINs asks for a PIN before a person's name is used.
	SettingPINs = "pins"
	// SettingSecond wants a second person to look before a step that is held, or that
	// closes something, is done.
	SettingSecond = "second"
	// SettingSigning wants such a step to be signed off once it is done.
	SettingSigning = "signing"
)

// Settings lists all of them.
var Settings = []string{SettingOpen, SettingPlain, SettingPINs, SettingSecond, SettingSigning}

// AtDevice says who is at a device.
type AtDevice struct {
	Device string `json:"device"`
	Person string `json:"person"`
	Proven bool   `json:"proven,omitempty"`
}

// Gone names what is no longer there.
type Gone struct {
	ID string `json:"id"`
}

// Setting is a switch and how it stands.
type Setting struct {
	Name string `json:"name"`
	On   bool   `json:"on"`
}

// Entry is one thing that was settled.
type Entry struct {
	Kind string
	Body []byte
	At   time.Time
}

// State is how a shop stands.
type State struct {
	Devices []Device
	People  []Person
	// Here is who is at the computer itself.
	Here At
	on   map[string]bool
}

// Fold goes through the entries in their order. One that cannot be read, or is of a
// kind that a newer version wrote, is passed over: it cannot let anybody in.
func Fold(entries []Entry) *State {
	s := &State{on: map[string]bool{}}
	for _, e := range entries {
		s.add(e)
	}
	return s
}

func (s *State) add(e Entry) {
	switch e.Kind {
	case KindDevice:
		d, ok := read[Device](e)
		if !ok || d.ID == "" || len(d.Token) != 2*sha256.Size {
			return
		}
		d.Paired, d.Names = e.At, []string{d.Name}
		s.Devices = append(s.Devices, d)
	case KindDeviceGone:
		if g, ok := read[Gone](e); ok {
			s.Devices = slices.DeleteFunc(s.Devices, func(d Device) bool { return d.ID == g.ID })
		}
	case KindPerson:
		p, ok := read[Person](e)
		if !ok || p.ID == "" {
			return
		}
		if i := slices.IndexFunc(s.People, func(q Person) bool { return q.ID == p.ID }); i >= 0 {
			s.People[i] = p
			return
		}
		s.People = append(s.People, p)
	case KindPersonGone:
		if g, ok := read[Gone](e); ok {
			s.People = slices.DeleteFunc(s.People, func(p Person) bool { return p.ID == g.ID })
		}
	case KindAtDevice:
		if a, ok := read[AtDevice](e); ok {
			s.put(a, e.At)
		}
	case KindSetting:
		if x, ok := read[Setting](e); ok {
			s.on[x.Name] = x.On
		}
	}
}

// put notes who is at a device.
func (s *State) put(a AtDevice, since time.Time) {
	at := &s.Here
	if a.Device != Here {
		d := s.Device(a.Device)
		if d == nil {
			return
		}
		at = &d.At
	}
	at.Person, at.Since, at.Proven = a.Person, since, a.Proven
	if p := s.Person(a.Person); p != nil && !slices.Contains(at.Names, p.Name) {
		at.Names = append(at.Names, p.Name)
	}
}

func read[T any](e Entry) (T, bool) {
	var v T
	return v, json.Unmarshal(e.Body, &v) == nil
}

// Device returns the device of an id, or nil.
func (s *State) Device(id string) *Device {
	for i := range s.Devices {
		if s.Devices[i].ID == id {
			return &s.Devices[i]
		}
	}
	return nil
}

// Person returns the person of an id, or nil.
func (s *State) Person(id string) *Person {
	for i := range s.People {
		if s.People[i].ID == id {
			return &s.People[i]
		}
	}
	return nil
}

// On says whether a setting is switched on.
func (s *State) On(setting string) bool { return s.on[setting] }

// Holder returns the device that holds a token, or nil. Encrypted says how the request
// came: a token that was given out in the clear opens nothing that is encrypted, and
// the other way round.
func (s *State) Holder(token string, encrypted bool) *Device {
	if token == "" {
		return nil
	}
	// What is looked up is a hash of something that nobody can guess, so how long the
	// comparison takes tells nothing.
	hash := HashToken(token)
	for i := range s.Devices {
		if d := &s.Devices[i]; d.Token == hash && d.Plain == !encrypted {
			return d
		}
	}
	return nil
}

// HashToken returns what is kept of a token.
func HashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}
