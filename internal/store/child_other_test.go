//go:build !linux

package store

import "fmt"

// childOnThisSystem has no roles here.
func childOnThisSystem(role, _ string) error { return fmt.Errorf("no role is called %q", role) }
