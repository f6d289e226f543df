using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;
using Supervisor.Runtime.Stops;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Scenarios.Checks;

/// <summary>
/// An input that is open trips its interlock within its delay and the line's reaction, and stays tripped until a person resets it: where a
/// button is wired by a full press and release of it, else by a command, and never while an input is open.
/// </summary>
public sealed class Interlocks : Checker
{
    private static readonly TimeSpan ShortestPress = TimeSpan.FromMilliseconds(100);
    private readonly Dictionary<string, Watched> _inputs = [];
    private readonly bool[] _stood;

    public Interlocks(StoryWorld world)
        : base(world)
    {
        ArgumentNullException.ThrowIfNull(world);
        _stood = new bool[world.Machine.Interlocks.Count];
        foreach (var input in world.Machine.Interlocks.SelectMany(interlock => interlock.Inputs.Append(interlock.ResetInput!)).OfType<InputReference>())
        {
            _inputs.TryAdd(input.Text, new Watched());
        }
    }

    /// <summary>A planted bug: inputs that are closed are taken for open.</summary>
    public bool TakesAllForOpen { get; set; }

    /// <inheritdoc/>
    public override void OnStart()
    {
        foreach (var input in _inputs.Values)
        {
            input.KnownSince = null;
        }

        for (var i = 0; i < _stood.Length; i++)
        {
            _stood[i] = World.Supervisor!.Board.Latch.IsStanding(StopCauses.Interlock(i));
        }
    }

    /// <inheritdoc/>
    public override void OnAbsence() => LookAtInputs();

    /// <inheritdoc/>
    public override void OnStep()
    {
        LookAtInputs();
        for (var i = 0; i < _stood.Length; i++)
        {
            var stands = World.Supervisor!.Board.Latch.IsStanding(StopCauses.Interlock(i));
            if (_stood[i] && !stands)
            {
                Looks++;
                JudgeReset(World.Machine.Interlocks[i]);
            }
            else if (!stands)
            {
                JudgeOpen(World.Machine.Interlocks[i]);
            }

            _stood[i] = stands;
        }
    }

    private void LookAtInputs()
    {
        foreach (var interlock in World.Machine.Interlocks)
        {
            foreach (var input in interlock.Inputs)
            {
                _inputs[input.Text].Note(IsClosed(input) && !TakesAllForOpen, Now);
            }

            if (interlock.ResetInput is { } button)
            {
                _inputs[button.Text].Note(IsClosed(button), Now);
            }
        }
    }

    /// <summary>Open for longer than it may take to be seen: read within the line's reaction, or taken for silent.</summary>
    private void JudgeOpen(InterlockDefinition interlock)
    {
        foreach (var input in interlock.Inputs)
        {
            var watched = _inputs[input.Text];
            var isKnown = World.Supervisor!.Board.Inputs.Read(World.Supervisor.Board.Inputs.IndexOf(input)).Known;
            watched.KnownSince = isKnown ? watched.KnownSince ?? Now : null;
            if (watched.IsClosed || input.Source is not (InputSource.Drive or InputSource.Module) || watched.KnownSince is not { } knownSince)
            {
                continue;
            }

            Looks++;
            var line = World.Lines[PortOf(input)];
            var seen = line.Reaction + (line.IsTroubled || IsSilent(input) ? interlock.StaleAfter : TimeSpan.Zero) + interlock.StaleAfter;
            
            // A supervisor counts a delay from what it sees itself.
            var since = watched.Since > knownSince ? watched.Since : knownSince;
            if (Now - since > interlock.TripDelay + seen)
            {
                Find(-1, $"{interlock.Name} is not tripped {(Now - since).TotalMilliseconds:0} ms after {input.Text} opened");
                watched.Since = Now;
            }
        }
    }

    private void JudgeReset(InterlockDefinition interlock)
    {
        foreach (var input in interlock.Inputs.Where(input => input.Source is InputSource.Drive or InputSource.Module))
        {
            var watched = _inputs[input.Text];
            if (!watched.IsClosed && Now - watched.Since > Late(interlock, input))
            {
                Find(-1, $"{interlock.Name} was reset while {input.Text} had been open for {(Now - watched.Since).TotalMilliseconds:0} ms");
            }
        }

        if (interlock.ResetInput is { } button)
        {
            var pressed = _inputs[button.Text];
            var sampling = World.Lines[World.Machine.Axes[button.Axis].Port].Reaction;
            // Let go, and perhaps pressed again since, within what is seen late.
            if (Now - pressed.Since > Late(interlock, button) || pressed.LastPress < ShortestPress - sampling)
            {
                Find(-1, $"{interlock.Name} was reset; its button {button.Text} was {(pressed.IsClosed ? "held" : $"let go {(Now - pressed.Since).TotalMilliseconds:0} ms before, after {pressed.LastPress.TotalMilliseconds:0} ms")}");
            }
        }
        else if (!World.Open.Concat(World.EndedOfLate).Any(given => given.Command is ResetCommand && (given.Answer is null || Now - given.EndedAt < ShortestPress)))
        {
            Find(-1, $"{interlock.Name} was reset and nobody gave the command");
        }
    }

    private TimeSpan Late(InterlockDefinition interlock, InputReference input)
    {
        var line = World.Lines[PortOf(input)];

        // What is told late is still told: up to the age at which an input counts as silent. When a module last was is not noted.
        var wasSilent = input.Module is not null || Now - World.SilentAt(input.Axis) < interlock.StaleAfter + line.Reaction;
        return line.Reaction + interlock.TripDelay + World.HeldUpFor + (line.IsTroubled || wasSilent ? interlock.StaleAfter : TimeSpan.Zero);
    }

    private bool IsClosed(InputReference input)
    {
        if (input.Module is { } place)
        {
            return World.Plant.Modules[place.Module].Inputs[place.Bit];
        }

        if (input.Source != InputSource.Drive)
        {
            return true;
        }

        var drive = World.Plant.Drives[input.Axis];
        foreach (var (name, bit) in drive.Axis.Drive.Inputs)
        {
            if (bit == input.Bit)
            {
                return drive.Input(name);
            }
        }

        return true;
    }

    private int PortOf(InputReference input) => input.Module is { } bit ? World.Machine.Modules[bit.Module].Port : World.Machine.Axes[input.Axis].Port;

    private bool IsSilent(InputReference input) => input.Module is { } bit ? World.Plant.Modules[bit.Module].IsSilent : World.Plant.Drives[input.Axis].IsSilent;

    private sealed class Watched
    {
        public bool IsClosed { get; private set; } = true;

        public TimeSpan Since { get; set; }

        /// <summary>Since when the supervisor that runs has read it.</summary>
        public TimeSpan? KnownSince { get; set; }

        /// <summary>How long it was closed before it last opened.</summary>
        public TimeSpan LastPress { get; private set; }

        public void Note(bool isClosed, TimeSpan now)
        {
            if (isClosed != IsClosed)
            {
                LastPress = IsClosed ? now - Since : LastPress;
                (IsClosed, Since) = (isClosed, now);
            }
        }
    }
}
