// Package web shows the record on pages at the bench and takes readings from them.
//
// A page shows an assessment or appends an event; it concludes nothing and keeps
// nothing else. Sentences come from package words, drawings are SVG whose every
// position is an attribute, and whatever a page needs is in the program: nothing is
// fetched from another host, and no script or style stands inside a page.
//
// The server answers on the machine itself only. It refuses to listen elsewhere and
// refuses a request that names another host, so that no page of the outside world can
// reach it through a name that points here.
package web
