"""The workbench in a browser: views, templates and our own style and script."""
