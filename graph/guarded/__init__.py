"""Work on what strangers hand in, done in child processes that may use up or break only themselves.

`children` keeps the processes, `child` is what runs in them, `reader` hands a file over and takes back what a task
made of it. `scan` looks at a text once, from front to back, before any parser sees it; `sheets` reads tables.
"""
