"""Paper: a page of templates/print as PDF, or for the browser to print."""
