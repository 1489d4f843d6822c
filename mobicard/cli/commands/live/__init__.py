"""Commands that stay running and take in what another program sends."""
