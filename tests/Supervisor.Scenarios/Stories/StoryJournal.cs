using Supervisor.Machine;
using Supervisor.Machine.Api;
using Supervisor.Records.Faults;

namespace Supervisor.Scenarios.Stories;

/// <summary>
/// Hears what the coordinator tells. It stands for the way to the history's writer, whose queue may be full: then what is told is lost to
/// it, and nothing else may change. The checkers hear all the same.
/// </summary>
public sealed class StoryJournal(StoryWorld world) : IJournal
{
    /// <summary>The disk behind it takes nothing at present.</summary>
    public bool IsFull { get; set; }

    /// <summary>What was told while it took nothing.</summary>
    public long Lost { get; private set; }

    /// <summary>What was kept.</summary>
    public long Kept { get; private set; }

    public void Fault(in FaultEvent fault)
    {
        Keep();
        world.Diary.Note(world.Queue.Now, "journal:", fault);
        foreach (var checker in world.Checkers)
        {
            checker.OnFault(fault);
        }
    }

    public void Interlock(int interlock, InterlockChange change, string inputs, TimeSpan at)
    {
        Keep();
        world.Diary.Note(world.Queue.Now, $"interlock {world.Machine.Interlocks[interlock].Name} {change} by", inputs);
        foreach (var checker in world.Checkers)
        {
            checker.OnInterlock(interlock, change);
        }
    }

    public void Recovery(in RecoveryNote note)
    {
        Keep();
        world.Tally.Add($"recovery {note.Change}");
        world.Diary.Note(world.Queue.Now, "journal:", note);
        foreach (var checker in world.Checkers)
        {
            checker.OnRecovery(note);
        }
    }

    public void Command(MachineCommand command, string holder, CommandAnswer answer, TimeSpan at) => Keep();

    public void Port(int port, bool open, TimeSpan at) => Keep();

    private void Keep()
    {
        if (IsFull)
        {
            Lost++;
        }
        else
        {
            Kept++;
        }
    }
}
