"""The Record: one bed's questions, the derived card alive beside them."""
