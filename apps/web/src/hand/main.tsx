import '../ui/look.css'
