// Package web shows the record on pages at the bench and takes readings from them.
//
// A page shows an assessment or appends an event; it concludes nothing and keeps
// nothing else. Sentences come from package words, drawings are SVG whose every
// position is an attribute, and whatever a page needs is in the program: nothing is
// fetched from another host, and no script or style stands inside a page.
//
// The server trusts the computer it runs on, and nobody else before they are paired: a
// device on the shop's network sees the pairing page until it gives the code that stands
// on the screen (pair.go, guard.go). It comes encrypted, under a certificate of package
// authority (gate.go), unless plain http was switched on. Names that are not the
// machine's own and addresses of the outside world are refused, so that no page of the
// outside world can reach it through a name that points here.
//
// What a device enters while the server does not answer waits there and is delivered
// once (assets/outbox.js, take.go).
package web
