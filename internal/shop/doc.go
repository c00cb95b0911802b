// Package shop says which devices, people and settings a shop has, folded from what was
// settled one entry after another.
//
// It knows who may come in and under which name; it refuses to know how they come (the
// network is package web's) and where the entries are kept (that is package store's). Like
// the core it reads no clock and draws no random number: both are arguments.
package shop
