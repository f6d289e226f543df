using Supervisor.Records.Axes;
using Supervisor.Runtime.Axes;

namespace Supervisor.Scenarios.Exploration;

/// <summary>Which commands an axis takes by what it shows, and which states a step may lead into: the design's table of states.</summary>
internal static class Acceptance
{
    public static void Judge(in Composite before, in Composite s, Turn turn, Trail trail)
    {
        var command = Composition.CommandOf(turn);
        if (command != Hand.None)
        {
            JudgeAnswer(before, command, turn, trail);
        }

        JudgeEntry(before, s, command, trail);
        if (trail.Took && s.InHand == command && command != Hand.None && s.Deadline != AxisDeadline.None && s.Remaining != TableAxis.CyclesOf(s.Deadline))
        {
            trail.Violate("a command taken has its own time");
        }
    }

    private static void JudgeAnswer(in Composite before, Hand command, Turn turn, Trail trail)
    {
        var (state, detail) = (before.Node.State(), before.Node.Detail());
        var inhibited = before.TorqueForbidden || before.MotionForbidden;
        var must = command switch
        {
            Hand.Enable => !before.TorqueForbidden && before.Referenced && detail == AxisDetail.None && state is AxisState.Disabled or AxisState.Ready,
            Hand.Home => !inhibited && detail == AxisDetail.None && state is AxisState.Disabled or AxisState.Ready,
            // A pressed button keeps its axis: a move waits until it is let go.
            Hand.Move or Hand.Contact => before.Node != AxisNode.Jogging && detail != AxisDetail.ProvingBrake && !inhibited && before.Referenced && before.Permit is Permit.Torque or Permit.Motion,
            Hand.Jog => !inhibited && before.Referenced && detail != AxisDetail.ProvingBrake && before.Permit == Permit.Torque,
            Hand.Prove => !inhibited && before.Node == AxisNode.Ready && !before.Pressing,
            Hand.Reset => state == AxisState.Faulted && detail == AxisDetail.None && before.InHand == Hand.None && turn == Turn.GiveReset,
            Hand.Support => detail == AxisDetail.HoldingLoad && before.StillSeen >= 2,
            Hand.Disable => state != AxisState.Faulted && (before.Permit != Permit.Off || detail == AxisDetail.None),
            _ => false,
        };
        var mustNot = command switch
        {
            Hand.Reset => state != AxisState.Faulted || detail == AxisDetail.HoldingLoad,
            Hand.Support => detail != AxisDetail.HoldingLoad || before.Motion == Motion.Moving,
            Hand.Disable => state == AxisState.Faulted,
            Hand.Enable => state == AxisState.Faulted || before.TorqueForbidden || !before.Referenced,
            Hand.Home => state == AxisState.Faulted || inhibited,
            Hand.Prove => state != AxisState.Ready || detail == AxisDetail.ProvingBrake || inhibited,
            _ => state is AxisState.Faulted or AxisState.Disabled or AxisState.Homing || inhibited || !before.Referenced,
        };
        if (must && !trail.Accepted)
        {
            trail.Violate("a command that the state permits is taken");
        }

        if (mustNot && trail.Accepted)
        {
            trail.Violate("a command that the state forbids is refused");
        }

        if (trail.Accepted && !trail.Took && !(command == Hand.Enable && state == AxisState.Ready) && !(command == Hand.Disable && state == AxisState.Disabled && detail == AxisDetail.None))
        {
            trail.Violate("a command that is not refused is taken in hand");
        }
    }

    private static void JudgeEntry(in Composite before, in Composite s, Hand command, Trail trail)
    {
        var (from, to) = (before.Node.State(), s.Node.State());
        if (from == to)
        {
            return;
        }

        var allowed = to switch
        {
            AxisState.Homing => command == Hand.Home,
            AxisState.Moving => command is Hand.Move or Hand.Contact or Hand.Jog || before.Link != Link.Met,
            AxisState.Ready => from is AxisState.Moving or AxisState.Homing || trail.Ended == Hand.Enable,
            AxisState.Faulted => trail.Latched,
            _ => true,
        };
        if (!allowed)
        {
            trail.Violate("a state is entered only by what leads into it");
        }
    }
}
