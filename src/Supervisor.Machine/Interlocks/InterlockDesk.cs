using Supervisor.Configuration.Machines;
using Supervisor.Runtime;

namespace Supervisor.Machine.Interlocks;

/// <summary>All interlocks of the machine and their reset buttons. A reset only permits: it starts nothing.</summary>
internal sealed class InterlockDesk
{
    private readonly InterlockMonitor[] _interlocks;
    private readonly InterlockMonitor[][] _byAxis;
    private readonly ResetButton[] _buttons;
    private readonly InterlockMonitor[][] _byButton;

    public InterlockDesk(MachineBoard board, IJournal journal)
    {
        var machine = board.Machine;
        _interlocks = [.. Enumerable.Range(0, machine.Interlocks.Count).Select(i => new InterlockMonitor(board, i, journal))];
        _byAxis = [.. Enumerable.Range(0, machine.Axes.Count)
            .Select(axis => _interlocks.Where(interlock => interlock.Definition.Axes.Contains(axis)).ToArray())];

        var wired = _interlocks.Where(interlock => interlock.Definition.ResetInput is not null)
            .GroupBy(interlock => board.Inputs.IndexOf(interlock.Definition.ResetInput!)).ToArray();
        _byButton = [.. wired.Select(group => group.ToArray())];
        _buttons = [.. wired.Select(group => new ResetButton(
            board.Inputs, group.Key, group.First().Definition.ResetInput!.Text, group.Min(interlock => interlock.Definition.StaleAfter)))];
    }

    public ReadOnlySpan<InterlockMonitor> All => _interlocks;

    /// <summary>The interlocks that stop an axis.</summary>
    public ReadOnlySpan<InterlockMonitor> Of(int axis) => _byAxis[axis];

    /// <summary>Whether the API may reset it: process conditions without a button of their own.</summary>
    public static bool IsResetByCommand(InterlockDefinition interlock) =>
        interlock is { Kind: InterlockKind.Process, ResetInput: null };

    /// <summary>Looks at every input and button.</summary>
    public void Step(TimeSpan now)
    {
        foreach (var interlock in _interlocks)
        {
            interlock.Step(now);
        }

        for (var button = 0; button < _buttons.Length; button++)
        {
            if (_buttons[button].Step(now))
            {
                Reset(_byButton[button], _buttons[button], now);
            }
        }
    }

    /// <summary>True when a reset by command would reset an interlock.</summary>
    public bool HasResettable(TimeSpan now)
    {
        foreach (var interlock in _interlocks)
        {
            if (IsResetByCommand(interlock.Definition) && interlock.IsResettable(now))
            {
                return true;
            }
        }

        return false;
    }

    /// <summary>Resets the process conditions that are closed again.</summary>
    public void ResetByCommand(string by, TimeSpan now)
    {
        foreach (var interlock in _interlocks)
        {
            if (IsResetByCommand(interlock.Definition) && interlock.IsResettable(now))
            {
                interlock.Reset(by, now);
            }
        }
    }

    private static void Reset(InterlockMonitor[] interlocks, ResetButton button, TimeSpan now)
    {
        foreach (var interlock in interlocks)
        {
            if (interlock.IsResettable(button.PressedAt))
            {
                interlock.Reset(button.Text, now);
            }
        }
    }
}
