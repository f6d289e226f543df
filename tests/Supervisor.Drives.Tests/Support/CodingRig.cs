using Supervisor.Bus.Rtu;
using Supervisor.Configuration.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;

namespace Supervisor.Drives.Tests.Support;

/// <summary>A coding with its image; the test plays the drive: it confirms what is written and tells what it likes.</summary>
internal sealed class CodingRig
{
    private readonly ushort[] _registers;
    private readonly Transaction _transaction = new();
    private GoalProgress _progress;
    private DriveFeedback _feedback;

    public CodingRig(DriveDefinition drive)
    {
        Coding = DriveCoding.Create(new ExchangePlan(drive));
        Image = new CommandImage(Coding.Plan, Coding.ControlOffset);
        _registers = new ushort[Coding.Plan.FeedbackRegisters];
    }

    public DriveCoding Coding { get; }

    public CommandImage Image { get; }

    public TimeSpan Now { get; private set; } = TimeSpan.FromSeconds(50);

    public ref readonly DriveFeedback Feedback => ref _feedback;

    /// <summary>The control register as it should be.</summary>
    public int Control => Image.Wanted[Coding.ControlOffset];

    public ushort Told(int offset) => _registers[offset];

    public int Wanted(string field) => (int)Coding.Plan.Command(field).Number(Image.Wanted);

    public void Set(string field, long raw) => Coding.Plan.Feedback(field).PutRaw(_registers, (uint)raw);

    public GoalResult Begin(DriveGoal goal)
    {
        _progress = new GoalProgress { Goal = goal, Since = Now };
        return Coding.Pursue(ref _progress, _feedback, fresh: false, Now, Image);
    }

    /// <summary>The drive confirms everything that is to be written, and the coding goes on without a new look.</summary>
    public GoalResult Write()
    {
        for (var block = Image.NextChanged(); block >= 0; block = Image.NextChanged())
        {
            Image.Write(_transaction, 1, block);
            Image.Confirm(block);
        }

        return Coding.Pursue(ref _progress, _feedback, fresh: false, Now, Image);
    }

    /// <summary>Everything is written, then the drive tells this.</summary>
    public GoalResult Look(int? word = null, double afterMs = 10)
    {
        Now += TimeSpan.FromMilliseconds(afterMs);
        for (var block = Image.NextChanged(); block >= 0; block = Image.NextChanged())
        {
            Image.Confirm(block);
        }

        _registers[0] = (ushort)(word ?? _registers[0]);
        Coding.Decode(_registers, Image, out _feedback);
        return Coding.Pursue(ref _progress, _feedback, fresh: true, Now, Image);
    }
}
