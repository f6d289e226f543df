using Supervisor.Runtime.Contact;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Stories.Extras;

/// <summary>The file with when the brakes were proven: it outlives supervisors, and is behind while the disk fails.</summary>
public sealed class ProofFile(StoryWorld world)
{
    private static readonly TimeSpan Interval = TimeSpan.FromMilliseconds(250);
    private readonly BrakeProofNote[] _kept = new BrakeProofNote[world.Machine.Axes.Count];
    private readonly bool _isUsed = world.Machine.Axes.Any(axis => axis.Brake?.Proof is not null);

    /// <summary>Axes whose motor the last supervisor left holding its load alone.</summary>
    public bool[] HeldLoads() => [.. _kept.Select(note => note.LoadHeld)];

    /// <summary>Tells a supervisor that starts what is known, and keeps the file for it as long as it runs.</summary>
    public void Keep(SupervisorProcess supervisor)
    {
        for (var axis = 0; axis < _kept.Length; axis++)
        {
            if (_kept[axis].Version > 0)
            {
                supervisor.Board.ProofMemories[axis].Write(_kept[axis] with { Version = 1 });
            }
        }

        if (_isUsed)
        {
            world.Queue.After(Interval, () => Write(supervisor));
        }
    }

    private void Write(SupervisorProcess supervisor)
    {
        if (!supervisor.IsRunning)
        {
            return;
        }

        for (var axis = 0; axis < _kept.Length && world.Disk.IsGood; axis++)
        {
            _kept[axis] = supervisor.Board.Proofs[axis].Read();
        }

        world.Queue.After(Interval, () => Write(supervisor));
    }
}
