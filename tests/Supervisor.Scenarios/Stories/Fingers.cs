using Supervisor.Configuration.Machines;
using Supervisor.Machine.Api;

namespace Supervisor.Scenarios.Stories;

/// <summary>Jog buttons as people and bad connections hold them: refreshed, let go, forgotten, refreshed too late or after their end; enabling inputs that open.</summary>
public sealed class Fingers(StoryWorld world, Dice dice)
{
    private enum Manner
    {
        LetGo,
        Forgotten,
        LateOnce,
        GoesOnAfterItsEnd,
    }

    /// <summary>Presses the jog button of an axis.</summary>
    public void Press(int axis, AuthorityGrant? grant)
    {
        if (world.Machine.Axes[axis].EnablingInput is { } enabling && dice.Chance(0.9))
        {
            Set(enabling, true);
        }

        var limit = world.Machine.Axes[axis].Limits.Velocity;
        var velocity = dice.Pick<double?>([null, limit * dice.Between(0.05, 1), limit * dice.Between(0.05, 1), limit * 2]);
        var given = world.Jog(new JogCommand(axis, dice.Chance(0.5), velocity), dice.Chance(0.95) ? grant : null);
        Hold(given, world.Supervisor!, dice.Pick([Manner.LetGo, Manner.LetGo, Manner.Forgotten, Manner.LateOnce, Manner.GoesOnAfterItsEnd]), world.Queue.Now + dice.Seconds(0.02, 5));
    }

    /// <summary>Opens an enabling input, as the hand on it lets go.</summary>
    public void LetGoOfEnabling()
    {
        var wired = world.Machine.Axes.Select(axis => axis.EnablingInput).OfType<InputReference>().ToArray();
        if (wired.Length > 0 && dice.Pick(wired) is var input)
        {
            world.Happen("enabling input opened", input.Text);
            Set(input, false);
            world.Queue.After(dice.Seconds(0.02, 3), () => Set(input, true));
        }
    }

    private void Hold(GivenCommand given, object supervisor, Manner manner, TimeSpan until)
    {
        var late = manner == Manner.LateOnce && dice.Chance(0.2);
        world.Queue.After(late ? dice.Seconds(0.24, 0.6) : dice.Seconds(0.04, 0.2), () =>
        {
            if (!ReferenceEquals(world.Supervisor, supervisor))
            {
                return;
            }

            if (world.Queue.Now < until)
            {
                Refresh(given);
                Hold(given, supervisor, late ? Manner.LetGo : manner, until);
            }
            else if (manner == Manner.GoesOnAfterItsEnd)
            {
                world.Happen("jog button refreshed after its end");
                LetGo(given);
                Refresh(given);
                Hold(given, supervisor, Manner.Forgotten, world.Queue.Now + TimeSpan.FromSeconds(1));
            }
            else if (manner == Manner.Forgotten)
            {
                world.Happen("jog button forgotten");
            }
            else
            {
                LetGo(given);
            }
        });
    }

    private void Refresh(GivenCommand given)
    {
        if (given.Press!.Refresh())
        {
            given.Refreshed(world.Queue.Now);
        }
    }

    private void LetGo(GivenCommand given)
    {
        given.LetGo(world.Queue.Now);
        given.Press!.Release();
    }

    private void Set(InputReference input, bool closed)
    {
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
