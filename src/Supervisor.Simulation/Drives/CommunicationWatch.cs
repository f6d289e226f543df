using Supervisor.Configuration.Drives;

namespace Supervisor.Simulation.Drives;

/// <summary>Tells when nobody has spoken to the drive for too long. Counts only while the drive has torque: a drive at rest has nothing to stop.</summary>
internal sealed class CommunicationWatch(CommunicationTimeoutDefinition? definition)
{
    private TimeSpan _fed;

    /// <summary>Silence that is too long; zero: not watched.</summary>
    public TimeSpan Limit { get; private set; }

    /// <summary>What happens then: as the definition says, until it is set otherwise.</summary>
    public TimeoutReaction Reaction { get; set; } = definition?.Reaction ?? TimeoutReaction.QuickStopThenOff;

    /// <summary>Sets the limit; another one starts counting anew.</summary>
    public void Set(TimeSpan limit, TimeSpan now)
    {
        if (limit != Limit)
        {
            Limit = limit;
            _fed = now;
        }
    }

    /// <summary>Starts counting anew.</summary>
    public void Restart(TimeSpan now) => _fed = now;

    /// <summary>Leaves time out of the count.</summary>
    public void Excuse(TimeSpan time) => _fed += time;

    /// <summary>A frame read the drive.</summary>
    public void OnRead(TimeSpan now)
    {
        if (definition?.FedBy is TimeoutFeed.AnyFrame or TimeoutFeed.Read)
        {
            _fed = now;
        }
    }

    /// <summary>A frame wrote to the drive.</summary>
    public void OnWrite(TimeSpan now)
    {
        if (definition?.FedBy is TimeoutFeed.AnyFrame or TimeoutFeed.Write)
        {
            _fed = now;
        }
    }

    /// <summary>True when the silence has lasted too long.</summary>
    public bool IsOver(TimeSpan now) => definition is not null && Limit > TimeSpan.Zero && now - _fed > Limit;
}
