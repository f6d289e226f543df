using Supervisor.Runtime.Contact;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories;

/// <summary>The file with what proves the axes' zeros, as it is on disk: behind by up to an interval, and by more while the disk fails.</summary>
public sealed class NoteFile(StoryWorld world)
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(50);
    private static readonly TimeSpan AfterFailure = TimeSpan.FromSeconds(5);
    private readonly ReferenceNote[] _notes = new ReferenceNote[world.Machine.Axes.Count];

    /// <summary>What a supervisor that starts now reads.</summary>
    public ReferenceNote[] Read() => [.. _notes];

    /// <summary>The board starts again: its clock since boot begins anew, and the times noted can't be compared any more.</summary>
    public void Reboot()
    {
        for (var axis = 0; axis < _notes.Length; axis++)
        {
            _notes[axis].UptimeKnown = false;
        }
    }

    /// <summary>Keeps the file for a supervisor as long as it runs.</summary>
    public void Keep(SupervisorProcess supervisor)
    {
        if (supervisor.IsRunning)
        {
            world.Queue.After(Write(supervisor) ? Interval : AfterFailure, () => Keep(supervisor));
        }
    }

    /// <summary>Writes the file; false when the disk does not take it.</summary>
    public bool Write(SupervisorProcess supervisor)
    {
        for (var axis = 0; axis < _notes.Length; axis++)
        {
            if (supervisor.Board.References[axis].Read() is { IsKnown: true } note && note.Version != _notes[axis].Version)
            {
                if (!world.Disk.IsGood)
                {
                    return false;
                }

                _notes[axis] = note;
            }
        }

        return true;
    }
}
