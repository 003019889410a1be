"""The take document: everything heard and decided about one take."""
