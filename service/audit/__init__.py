"""Who read or changed what. Entries are written in the transaction of the change and never altered: the database
itself refuses to update or delete one.
"""
