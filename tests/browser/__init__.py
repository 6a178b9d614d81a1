"""Stories in a real browser: JupyterLab as a person sees it, without any network."""
