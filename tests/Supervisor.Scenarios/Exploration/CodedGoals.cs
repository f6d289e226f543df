using Supervisor.Configuration.Machines;
using Supervisor.Drives;
using Supervisor.Drives.Coding;
using Supervisor.Drives.Exchange;
using Supervisor.Scenarios.World;

namespace Supervisor.Scenarios.Exploration;

/// <summary>
/// The real CiA 402 coding, asked once for every distinct situation and remembered: the exploration sees the very words that go out on
/// a wire, at the price of a look-up.
/// </summary>
internal sealed class CodedGoals
{
    private readonly Dictionary<ulong, Answer> _answers = [];
    private readonly DriveCoding _coding;
    private readonly CommandImage _image;
    private readonly FieldSlot _mode;
    private readonly FieldSlot _statusword;
    private readonly ushort[] _registers;

    public CodedGoals()
    {
        var drive = Machines.TwoPorts().Axes[0].Drive;
        var plan = new ExchangePlan(drive);
        _coding = DriveCoding.Create(plan);
        _image = new CommandImage(plan, _coding.ControlOffset);
        _mode = plan.Command("mode");
        _statusword = plan.Feedback("statusword");
        _registers = new ushort[plan.FeedbackRegisters];
    }

    /// <summary>Situations met so far.</summary>
    public int Count => _answers.Count;

    /// <summary>Carries the goal of a state on by a statusword.</summary>
    public GoalResult Pursue(ref Composite state, ushort statusword, bool fresh)
    {
        var key = (ulong)statusword | ((ulong)state.Goal << 16) | ((ulong)state.Stage << 24) | ((ulong)state.Feedbacks << 32)
            | ((ulong)state.Wanted << 36) | ((state.WantsHoming ? 1UL : 0) << 52) | ((state.Clean ? 1UL : 0) << 53)
            | ((fresh ? 1UL : 0) << 54) | ((state.StageCycles >= 3 ? 1UL : 0) << 55);
        if (!_answers.TryGetValue(key, out var answer))
        {
            answer = Ask(state, statusword, fresh);
            _answers.Add(key, answer);
        }

        // Only two waits look at their age; elsewhere it would tell apart what is the same.
        var waits = state.Goal is DriveGoal.Home or DriveGoal.ClearFault && answer.Stage == 2;
        state.StageCycles = !waits || answer.Stage != state.Stage ? (byte)0 : state.StageCycles;
        state.Stage = answer.Stage;

        // So do the feedbacks count only where a drive is given the time of one more: before and after a search is started, and between two set-points.
        var counts = state.Goal == DriveGoal.Home ? answer.Stage is 1 or 2 : state.Goal is DriveGoal.Move or DriveGoal.Push or DriveGoal.Stand && answer.Stage == 4;
        state.Feedbacks = counts ? answer.Feedbacks : (byte)0;
        state.Wanted = answer.Word;
        state.WantsHoming = answer.Homing;
        return answer.Result;
    }

    private Answer Ask(in Composite state, ushort statusword, bool fresh)
    {
        var now = TimeSpan.FromSeconds(1000);
        var progress = new GoalProgress
        {
            Goal = state.Goal,
            Stage = state.Stage,
            Feedbacks = state.Feedbacks,
            Since = state.StageCycles >= 3 ? now - TimeSpan.FromSeconds(1) : now,
        };
        _image.Wanted[_coding.ControlOffset] = state.Wanted;
        _mode.PutRaw(_image.Wanted, state.WantsHoming ? (ushort)Cia402.Homing : (ushort)Cia402.ProfilePosition);
        _coding.PutTarget(_image, 0);
        _image.Forget();
        if (state.Clean)
        {
            for (var block = _image.NextChanged(); block >= 0; block = _image.NextChanged())
            {
                _image.Confirm(block);
            }
        }

        _statusword.PutRaw(_registers, statusword);
        _coding.Decode(_registers, _image, out var feedback);
        var result = _coding.Pursue(ref progress, feedback, fresh, now, _image);
        return new Answer(
            result, progress.Stage, (byte)Math.Min(progress.Feedbacks, 2), _image.Wanted[_coding.ControlOffset], _mode.Number(_image.Wanted) == Cia402.Homing);
    }

    private readonly record struct Answer(GoalResult Result, byte Stage, byte Feedbacks, ushort Word, bool Homing);
}
