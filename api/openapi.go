package api

import (
	_ "embed"
	"net/http"

	"github.com/labstack/echo/v4"
)

// openAPIFile is the description of the interface; a test compares it with the
// table of routes.
//
//go:embed openapi.json
var openAPIFile []byte

func (s *server) openAPI(c echo.Context) error {
	return c.Blob(http.StatusOK, "application/json", openAPIFile)
}
