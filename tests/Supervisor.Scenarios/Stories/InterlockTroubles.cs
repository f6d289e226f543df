using Supervisor.Configuration.Machines;
using Supervisor.Runtime.Stops;

namespace Supervisor.Scenarios.Stories;

/// <summary>Guards and emergency stops opened and closed, whole or by one channel; reset buttons pressed too short, rightly, or held by a wedge.</summary>
public sealed class InterlockTroubles(StoryWorld world, Dice dice)
{
    private readonly HashSet<string> _held = [];

    /// <summary>All inputs of an interlock open, and close again.</summary>
    public void Open()
    {
        if (world.Machine.Interlocks.Count == 0)
        {
            return;
        }

        var interlock = dice.Pick(world.Machine.Interlocks);
        world.Happen("interlock opened", interlock.Name);
        var open = dice.Chance(0.3) ? dice.Seconds(0.005, 0.3) : dice.Seconds(0.3, 12);
        foreach (var input in interlock.Inputs)
        {
            OpenFor(input, open + dice.Seconds(0, 0.05));
        }
    }

    /// <summary>One channel of an interlock opens alone.</summary>
    public void OpenOneChannel()
    {
        var twofold = world.Machine.Interlocks.Where(interlock => interlock.Inputs.Count > 1).ToArray();
        if (twofold.Length > 0)
        {
            world.Happen("one channel opened");
            OpenFor(dice.Pick(dice.Pick(twofold).Inputs), dice.Seconds(0.01, 3));
        }
    }

    /// <summary>A source that no port reads trips an interlock at an instant of its own.</summary>
    public void TripFromElsewhere()
    {
        if (world.Supervisor is { } supervisor && world.Machine.Interlocks.Count > 0)
        {
            world.Happen("tripped from elsewhere");
            supervisor.Board.Latch.Trip(StopCauses.Interlock(dice.Below(world.Machine.Interlocks.Count)));
        }
    }

    /// <summary>A press that counts, is too short, or is a wedge in the button.</summary>
    public void PressAButton()
    {
        var kind = dice.Below(6);
        world.Happen(kind switch { 0 => "button pressed short", 1 => "button stuck", _ => "button pressed" });
        Press(kind switch { 0 => dice.Seconds(0.005, 0.09), 1 => dice.Seconds(5, 25), _ => dice.Seconds(0.15, 1) });
    }

    /// <summary>Presses one reset button for a time.</summary>
    public void Press(TimeSpan time)
    {
        var buttons = world.Machine.Interlocks.Select(interlock => interlock.ResetInput).OfType<InputReference>().DistinctBy(input => input.Text).ToArray();
        if (buttons.Length > 0 && dice.Pick(buttons) is var button && _held.Add(button.Text))
        {
            world.Diary.Note(world.Queue.Now, "pressed", button.Text);
            Set(button, true);
            world.Queue.After(time, () =>
            {
                world.Diary.Note(world.Queue.Now, "let go", button.Text);
                Set(button, false);

                // A finger needs its time to come back.
                world.Queue.After(TimeSpan.FromMilliseconds(80), () => _held.Remove(button.Text));
            });
        }
    }

    private void OpenFor(InputReference input, TimeSpan time)
    {
        if (input.Source is InputSource.Drive or InputSource.Module && _held.Add(input.Text))
        {
            world.Diary.Note(world.Queue.Now, "opened", input.Text);
            Set(input, false);
            world.Queue.After(time, () =>
            {
                world.Diary.Note(world.Queue.Now, "closed", input.Text);
                _held.Remove(input.Text);
                Set(input, true);
            });
        }
    }

    private void Set(InputReference input, bool closed)
    {
        if (input.Module is { } place)
        {
            world.Plant.Modules[place.Module].Inputs[place.Bit] = closed;
            return;
        }

        var drive = world.Drive(input.Axis);
        foreach (var (name, bit) in drive.Axis.Drive.Inputs)
        {
            if (bit == input.Bit)
            {
                drive.SetInput(name, closed);
            }
        }
    }
}
