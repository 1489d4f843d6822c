"""The clerk's use cases: doors that no longer match, and the pages for them."""
