"""Label copy in the forms that others read; a module that declares ``EXPORT`` is a form."""
