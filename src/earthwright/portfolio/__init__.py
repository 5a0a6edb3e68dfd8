"""Many visits as open tables: built from kept visits, asked, judged again. The tables hold no name, place or free text."""
