package cli

import (
	"os/exec"
	"runtime"
)

// openInBrowser shows a page in the browser that this computer uses for pages.
func openInBrowser(address string) error {
	name, args := "xdg-open", []string{address}
	switch runtime.GOOS {
	case "darwin":
		name = "open"
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler", address}
	}
	c := exec.Command(name, args...)
	if err := c.Start(); err != nil {
		return err
	}
	go c.Wait() // nobody waits for a browser to end
	return nil
}
