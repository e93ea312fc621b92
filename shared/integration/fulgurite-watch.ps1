# A drop folder as a task of the Windows Task Scheduler: starts with the machine, and again when it ended.
# Run once in an elevated PowerShell, after mending paths and account. Remove: Unregister-ScheduledTask fulgurite-watch
$program = 'C:\Program Files\fulgurite\fulgurite.exe'
$words = 'watch D:\emc\drop --to xml,csv,pdf --out D:\emc\results --register D:\emc\register.sqlite --quiet'
# For a drop folder on a network share, add: --poll 5
$action = New-ScheduledTaskAction -Execute $program -Argument $words -WorkingDirectory 'D:\emc'
$start = New-ScheduledTaskTrigger -AtStartup
$rules = New-ScheduledTaskSettingsSet -RestartCount 999 -RestartInterval (New-TimeSpan -Minutes 1) `
    -ExecutionTimeLimit ([TimeSpan]::Zero) -MultipleInstances IgnoreNew -StartWhenAvailable
Register-ScheduledTask -TaskName 'fulgurite-watch' -Action $action -Trigger $start -Settings $rules `
    -User 'NT AUTHORITY\LOCAL SERVICE' -Description 'Converts test jobs that are dropped into a folder'
