package main

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"haulout/api"
	"haulout/events/journal"
)

func newStaff() *cobra.Command {
	cmd := &cobra.Command{Use: "staff", Short: "Say who may use the server", Args: noArgs}
	var data string
	cmd.PersistentFlags().StringVar(&data, "data", setting("HAULOUT_DATA", "data"), "data folder, which no server holds at the moment")
	cmd.AddCommand(newStaffAdd(&data), newStaffRemove(&data), newStaffList(&data))
	return cmd
}

// withStaff works on the staff of a folder that no other process holds.
func withStaff(data string, work func(*api.Staff) error) error {
	release, err := journal.Lock(data)
	if err != nil {
		return err
	}
	defer release()
	staff, err := api.OpenStaff(data, time.Now)
	if err != nil {
		return err
	}
	return work(staff)
}

func newStaffAdd(data *string) *cobra.Command {
	var role string
	var facilities []string
	var token bool
	cmd := &cobra.Command{
		Use: "add NAME", Short: "Take somebody in, or change their role", Args: exactArgs("NAME"),
		Example: "  haulout staff add rv --role keeper --facility saltgarth --token",
		RunE: func(cmd *cobra.Command, args []string) error {
			return withStaff(*data, func(staff *api.Staff) error {
				if err := staff.Add(api.Member{Name: args[0], Role: role, Facilities: facilities}); err != nil {
					return useError{err}
				}
				if !token {
					return nil
				}
				text, err := staff.Issue(args[0])
				if err != nil {
					return err
				}
				_, err = fmt.Fprintln(cmd.OutOrStdout(), text)
				return err
			})
		},
	}
	cmd.Flags().StringVar(&role, "role", "", "role: "+strings.Join(api.Roles(), ", "))
	cmd.Flags().StringSliceVar(&facilities, "facility", nil, "facilities that the role holds at (none: every one)")
	cmd.Flags().BoolVar(&token, "token", false, "make a token and print it, alone; it is shown only once")
	return cmd
}

func newStaffRemove(data *string) *cobra.Command {
	return &cobra.Command{
		Use: "remove NAME", Short: "Take somebody's role and tokens away", Args: exactArgs("NAME"),
		RunE: func(_ *cobra.Command, args []string) error {
			return withStaff(*data, func(staff *api.Staff) error { return staff.Remove(args[0]) })
		},
	}
}

func newStaffList(data *string) *cobra.Command {
	var asJSON bool
	cmd := &cobra.Command{
		Use: "list", Short: "List who may use the server", Args: noArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			return withStaff(*data, func(staff *api.Staff) error {
				if asJSON {
					return json.NewEncoder(cmd.OutOrStdout()).Encode(staff.List())
				}
				for _, m := range staff.List() {
					where := strings.Join(m.Facilities, ", ")
					if where == "" {
						where = "every facility"
					}
					fmt.Fprintf(cmd.OutOrStdout(), "%-20s %-12s %s\n", m.Name, m.Role, where)
				}
				return nil
			})
		},
	}
	cmd.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return cmd
}
