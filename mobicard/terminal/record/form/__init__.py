"""The Record's form as plain values: questions, answers, typed entries. No screen here."""
